/** What a command of the command line is, and how it ends. */
import { type ParseArgsConfig, parseArgs } from 'node:util';

export const EXIT = { ok: 0, failure: 1, usage: 2 } as const;

/** The command line was not understood: one line on stderr and exit code 2. */
export class UsageError extends Error {
  override readonly name = 'UsageError';
}

/** parseArgs of Node, with what it cannot read as a UsageError. */
export function readArguments<T extends ParseArgsConfig>(config: T): ReturnType<typeof parseArgs<T>> {
  try {
    return parseArgs(config);
  } catch (error) {
    throw new UsageError(error instanceof Error ? error.message : String(error));
  }
}

export function asksForHelp(argv: readonly string[]): boolean {
  return argv.includes('--help') || argv.includes('-h');
}

/** `error` as one line without a stack. */
export function oneLine(error: unknown): string {
  const text = error instanceof Error ? error.message : String(error);
  return text.replace(/\s*\n\s*/g, ' ').trim() || 'it failed without saying why';
}
