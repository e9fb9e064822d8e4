/**
 * Which file is written: `DATA_DIR/journals/…`, one a standby day or incident, and the name of the current one in
 * post.db. A file that never became current (a switch that was cut off) is left where it is and not read.
 */
import { randomUUID } from 'node:crypto';
import { existsSync, mkdirSync } from 'node:fs';
import { basename, join } from 'node:path';
import type { Db } from '../store/open-database.ts';

export type Purpose = 'standby' | 'incident' | 'exercise';
export type CurrentFile = { readonly file: string; readonly epoch: string };
export type IncidentRow = {
  readonly id: string;
  readonly name: string;
  readonly purpose: string;
  readonly openedAt: string;
  readonly closedAt: string | null;
};

/** Folder of the journals, made where it is missing. */
export function journalFolder(dataDir: string): string {
  const folder = join(dataDir, 'journals');
  mkdirSync(folder, { recursive: true, mode: 0o700 });
  return folder;
}

/** Path for a new file; `day` is an ISO date, and the part of the id keeps names apart. */
export function newFile(folder: string, purpose: Purpose, day: string, id: string): string {
  const name = purpose === 'standby' ? `standby-${day}` : `${purpose}-${day}-${id.slice(0, 8)}`;
  const plain = join(folder, `${name}.db`);
  return existsSync(plain) ? join(folder, `${name}-${randomUUID().slice(0, 8)}.db`) : plain;
}

export function readCurrent(post: Db, folder: string): CurrentFile | null {
  const file = post.prepare("SELECT value FROM setting WHERE key = 'current-journal'").pluck().get();
  if (typeof file !== 'string') return null;
  const epoch = post.prepare('SELECT epoch FROM journal_file WHERE file = ?').pluck().get(JSON.parse(file));
  return typeof epoch === 'string' ? { file: join(folder, String(JSON.parse(file))), epoch } : null;
}

export function writeCurrent(post: Db, file: string): void {
  post
    .prepare(
      "INSERT INTO setting (key, value) VALUES ('current-journal', ?) ON CONFLICT (key) DO UPDATE SET value = excluded.value",
    )
    .run(JSON.stringify(basename(file)));
}

/** Notes in post.db when an incident was opened or closed, ms since 1970 by the post's label. */
export function noteOpened(post: Db, fileId: number, exercise: boolean, openedAtMs: number): void {
  post
    .prepare('UPDATE journal_file SET exercise = ?, opened_at = ? WHERE id = ?')
    .run(exercise ? 1 : 0, openedAtMs, fileId);
}

export function noteClosed(post: Db, file: string, closedAtMs: number): void {
  post.prepare('UPDATE journal_file SET closed_at = ? WHERE file = ?').run(closedAtMs, basename(file));
}

type Row = { incident_id: string; name: string; kind: string; opened_at: number; closed_at: number | null };

/** Incidents and exercises, newest first. */
export function listIncidents(post: Db): IncidentRow[] {
  const rows = post
    .prepare<[], Row>(
      "SELECT incident_id, name, kind, opened_at, closed_at FROM journal_file WHERE kind <> 'standby' AND opened_at IS NOT NULL ORDER BY opened_at DESC, id DESC",
    )
    .all();
  return rows.map((row) => ({
    id: row.incident_id,
    name: row.name,
    purpose: row.kind,
    openedAt: new Date(row.opened_at).toISOString(),
    closedAt: row.closed_at === null ? null : new Date(row.closed_at).toISOString(),
  }));
}
