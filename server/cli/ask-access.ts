/** Runs an access command on the running server of the data folder or, where none runs, on post.db itself. */
import { setTimeout as pause } from 'node:timers/promises';
import { createAccess } from '../access/access.ts';
import { accessCommands } from '../access/control.ts';
import { takeLock } from '../store/lock.ts';
import { ensureDataDir, openPostDatabase } from '../store/post-database.ts';
import { askServer, type ControlAnswer } from './control-socket.ts';

const WAIT_FOR_SERVER_MS = 5000;
const TRY_EVERY_MS = 100;

export async function askAccess(dataDir: string, cmd: string, args: unknown): Promise<ControlAnswer> {
  ensureDataDir(dataDir);
  for (let waitedMs = 0; ; waitedMs += TRY_EVERY_MS) {
    const live = await askServer(dataDir, cmd, args);
    if (live !== null) return live;
    const held = takeLock(dataDir);
    if (held.ok) {
      try {
        return await askDatabase(dataDir, cmd, args);
      } finally {
        held.lock.release();
      }
    }
    // Somebody holds the folder and does not listen: a server that starts or stops.
    if (waitedMs >= WAIT_FOR_SERVER_MS) return { ok: false, error: `${held.message}, and it does not answer` };
    await pause(TRY_EVERY_MS);
  }
}

async function askDatabase(dataDir: string, cmd: string, args: unknown): Promise<ControlAnswer> {
  const db = openPostDatabase(dataDir);
  try {
    const access = createAccess({ db, clock: { nowMs: () => Date.now() }, secure: false });
    const handler = accessCommands(access)[cmd];
    return handler ? await handler(args) : { ok: false, error: `unknown command ${cmd}` };
  } finally {
    db.close();
  }
}
