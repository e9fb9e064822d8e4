/** Puts the post together and serves it. Nothing else: what is decided is decided in the parts. */
import type { Server } from 'node:net';
import { pino } from 'pino';
import { createAccess } from './access/access.ts';
import { accessCommands } from './access/control.ts';
import { buildApp } from './app.ts';
import { listenControl } from './cli/control-socket.ts';
import type { Config } from './config.ts';
import { playDemonstration } from './demonstration.ts';
import { takeLock } from './store/lock.ts';
import { openPostDatabase } from './store/post-database.ts';
import { startPost } from './watch/post.ts';

export type RunningServer = { readonly url: string; stop(): Promise<void> };

/** Starts the server of `config.dataDir`. Throws an Error whose message says in one line what stands in the way. */
export async function startServer(config: Config, options: { demo: boolean }): Promise<RunningServer> {
  const log = pino({ level: config.logLevel }, pino.destination({ dest: 2, sync: true }));
  const lock = takeLock(config.dataDir);
  if (!lock.ok) throw new Error(lock.message);
  const undo: (() => unknown)[] = [() => lock.lock.release()];
  const stop = async () => {
    for (let act = undo.pop(); act !== undefined; act = undo.pop()) await act();
  };
  try {
    const db = openPostDatabase(config.dataDir);
    undo.push(() => db.close());
    const access = createAccess({
      db,
      clock: { nowMs: () => Date.now() },
      secure: config.tls !== null,
      demo: options.demo && config.loopback,
    });
    const zone = Intl.DateTimeFormat().resolvedOptions().timeZone;
    const post = startPost({
      dataDir: config.dataDir,
      db,
      log,
      commitWindowMs: config.commitWindowMs,
      zone,
      // Written once more would be a lie about what is on disk: end, and let the next start look at the file.
      onFatal: () => setTimeout(() => process.exit(1), 500),
    });
    undo.push(() => post.stop());
    const { app } = await buildApp({
      post,
      access,
      db,
      log,
      tls: config.tls,
      loopback: config.loopback,
      allowedOrigins: config.allowedOrigins,
      demo: options.demo,
    });
    undo.push(() => app.close());
    const control = await listenControl(config.dataDir, accessCommands(access));
    undo.push(() => control.close());
    await app.listen({ host: config.host, port: config.port });
    const url = urlOf(app.server.address(), config);
    announce(url, access.firstCode(), options.demo);
    if (options.demo) {
      const end = await playDemonstration({ url, post, access, log });
      undo.push(end);
    }
    return { url, stop };
  } catch (error) {
    await stop();
    throw error;
  }
}

function urlOf(address: ReturnType<Server['address']>, config: Config): string {
  const port = typeof address === 'object' && address !== null ? address.port : config.port;
  const host = config.host.includes(':') ? `[${config.host}]` : config.host;
  return `${config.tls === null ? 'http' : 'https'}://${host}:${port}`;
}

function announce(url: string, firstCode: string | null, demo: boolean): void {
  const lines = [`Upwind is serving at ${url}`];
  if (demo) lines.push('This is the demonstration: an exercise of its own, in a folder of its own. Ctrl-C ends it.');
  else if (firstCode !== null)
    lines.push(
      `Nobody governs this post yet. Make the first commander, once, at:`,
      `  ${url}/first?code=${encodeURIComponent(firstCode)}`,
    );
  process.stdout.write(`${lines.join('\n')}\n`);
}
