/** `upwind verify FILE [--head HASH]` */
import { existsSync } from 'node:fs';
import { type Verified, verifyFile } from '../journal/verify.ts';
import { asksForHelp, EXIT, readArguments, UsageError } from './command.ts';

const HELP = `Usage: upwind verify FILE [--head HASH]

Recomputes the hash chain of a journal file and says whether anything in it was changed, taken out or slipped in, and
which record is the first that breaks. The file may be a copy, or one that a running server writes; it is not changed.

  --head HASH   a head hash known from elsewhere (a print, the post): proves that the end was not cut off.
                Without it, a cut end cannot be excluded.

Exit code: 0 verified, 1 broken, 2 the command line was not understood.
`;

/** Prints the verdict. Throws UsageError where the command line was not understood. */
export async function verifyCommand(argv: readonly string[]): Promise<number> {
  if (asksForHelp(argv)) {
    process.stdout.write(HELP);
    return EXIT.ok;
  }
  const { values, positionals } = readArguments({
    args: [...argv],
    options: { head: { type: 'string' } },
    allowPositionals: true,
  });
  const [file, ...more] = positionals;
  if (file === undefined || more.length > 0)
    throw new UsageError('verify: one FILE is needed; see upwind verify --help');
  if (!existsSync(file)) throw new UsageError(`verify: ${file}: no such file`);
  const head = values.head?.replace(/\s/g, '');
  if (head !== undefined && !/^[0-9a-f]{64}$/i.test(head)) {
    throw new UsageError('verify: a head hash has 64 hexadecimal digits');
  }
  const result = verifyFile(file, head === undefined ? {} : { head });
  if (!result.ok) {
    const where = result.cursor === 0 ? '' : ` at record ${result.cursor}`;
    process.stderr.write(`BROKEN${where}: ${result.reason}\n`);
    return EXIT.failure;
  }
  process.stdout.write(verdict(result));
  return EXIT.ok;
}

function verdict(result: Verified): string {
  return [
    `Verified: ${result.records} records in ${result.commits} commits, unchanged.`,
    `Head ${result.headHex}`,
    `Epoch ${result.epoch}, ${result.open ? 'not closed' : 'closed'}.`,
    `${tail(result.recordsAfterHead)}\n`,
  ].join('\n');
}

function tail(recordsAfterHead: number | null): string {
  if (recordsAfterHead === null) return 'No head was given: that the end was cut off cannot be excluded.';
  if (recordsAfterHead === 0) return 'It ends with the head given: nothing was cut off.';
  return `It holds the head given, and ${recordsAfterHead} records after it.`;
}
