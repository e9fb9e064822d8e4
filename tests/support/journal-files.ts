/** The files of a post's record, read by tests beside the server that writes them. */
import { join } from 'node:path';
import Database from 'better-sqlite3';
import { openJournalReadOnly } from '../../server/journal/sqlite-journal.ts';
import type { JournalRecord } from '../../shared/incident/records.ts';

/** Files of the record. One whose making was cut off is left in the folder and never becomes a part of it. */
export function journalFiles(dataDir: string): string[] {
  const post = new Database(join(dataDir, 'post.db'), { readonly: true });
  try {
    const names = post.prepare('SELECT file FROM journal_file WHERE opened_at IS NOT NULL ORDER BY id').pluck().all();
    return names.map((name) => join(dataDir, 'journals', String(name)));
  } finally {
    post.close();
  }
}

/** The one that is written now. */
export function currentJournal(dataDir: string): string {
  const post = new Database(join(dataDir, 'post.db'), { readonly: true });
  try {
    const value = post.prepare("SELECT value FROM setting WHERE key = 'current-journal'").pluck().get();
    return join(dataDir, 'journals', String(JSON.parse(String(value))));
  } finally {
    post.close();
  }
}

/** Every record of a journal, in order. */
export function readJournal(file: string): JournalRecord[] {
  const journal = openJournalReadOnly(file);
  try {
    const all: JournalRecord[] = [];
    for (;;) {
      const page = journal.read(all.at(-1)?.cursor ?? 0, 5_000);
      if (page.length === 0) return all;
      all.push(...page);
    }
  } finally {
    journal.close();
  }
}
