/** A post that nobody governs yet, with the link that it prints for its first commander. */
import { spawn } from 'node:child_process';
import { onTestFinished } from 'vitest';
import { freshFolder, PROGRAM } from '../../support/run-server.ts';

export async function startNewPost(): Promise<{ readonly url: string; readonly firstLink: string }> {
  const child = spawn(process.execPath, [PROGRAM, 'serve'], {
    env: { ...process.env, HOST: '127.0.0.1', PORT: '0', LOG_LEVEL: 'warn', DATA_DIR: freshFolder() },
    stdio: ['ignore', 'pipe', 'ignore'],
  });
  onTestFinished(() => void child.kill('SIGKILL'));
  let said = '';
  for await (const part of child.stdout.setEncoding('utf8')) {
    said += String(part);
    const url = /serving at (\S+)/.exec(said)?.[1];
    const firstLink = /(\S+\/first\?code=\S+)\n/.exec(said)?.[1];
    if (url !== undefined && firstLink !== undefined) return { url, firstLink };
  }
  throw new Error(`it ended before it served: ${said}`);
}
