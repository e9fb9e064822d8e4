/** A passphrase from a terminal, typed twice and not shown, or from stdin for scripts. */
import { createInterface } from 'node:readline/promises';
import { Writable } from 'node:stream';
import { text } from 'node:stream/consumers';
import { UsageError } from './command.ts';

/** All of stdin but the end of its last line. */
export async function readPassphrase(): Promise<string> {
  return (await text(process.stdin)).replace(/\r?\n$/, '');
}

/** Asks on the terminal. Throws a UsageError where there is none or where the two entries differ. */
export async function askPassphrase(name: string): Promise<string> {
  if (!process.stdin.isTTY)
    throw new UsageError('no terminal to ask on: give --passphrase-stdin and the passphrase on stdin');
  const hidden = new Writable({ write: (_chunk, _encoding, done) => done() });
  const lines = createInterface({ input: process.stdin, output: hidden, terminal: true });
  lines.on('SIGINT', () => process.exit(130));
  try {
    const once = await ask(lines, `Passphrase for ${name}: `);
    const again = await ask(lines, 'The same again: ');
    if (once !== again) throw new UsageError('the two entries differ: nothing was changed');
    return once;
  } finally {
    lines.close();
  }
}

async function ask(lines: ReturnType<typeof createInterface>, question: string): Promise<string> {
  process.stderr.write(question);
  const typed = await lines.question('');
  process.stderr.write('\n');
  return typed;
}
