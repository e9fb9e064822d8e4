/** What SQLite says went wrong, in the four words that the recorder decides by. */
import { JournalError } from './journal.ts';

/**
 * The JournalError of an error that SQLite gave, or the error itself where it is none of the disk's doing (a
 * unique key given twice is a fault of the caller).
 */
export function asJournalError(error: unknown): unknown {
  const code = error instanceof Error && 'code' in error ? error.code : undefined;
  if (!(error instanceof Error) || typeof code !== 'string') return error;
  const reason = reasonOf(code);
  return reason === null ? error : new JournalError(reason, `${error.message} (${code})`, { cause: error });
}

function reasonOf(code: string): JournalError['code'] | null {
  // The side file of the WAL could not grow: seen when the disk is full, and nothing was written yet.
  if (code === 'SQLITE_FULL' || code === 'SQLITE_IOERR_SHMSIZE') return 'full';
  if (code.startsWith('SQLITE_READONLY') || code === 'SQLITE_PERM') return 'read-only';
  // Somebody else holds the file's write lock: it cannot be written now, and may be later.
  if (code.startsWith('SQLITE_BUSY') || code.startsWith('SQLITE_LOCKED')) return 'read-only';
  if (code.startsWith('SQLITE_IOERR') || code.startsWith('SQLITE_CANTOPEN')) return 'io';
  if (code.startsWith('SQLITE_CORRUPT') || code === 'SQLITE_NOTADB') return 'corrupt';
  return null;
}
