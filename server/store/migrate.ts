/** Numbered, forward-only migrations, each in one transaction; a file of a newer build is refused. */
import type { Database } from 'better-sqlite3';

export type Migration = { readonly id: number; readonly name: string; readonly sql: string };

/** Applies the steps that `db` has not had. Throws when the file is newer than this build knows. */
export function migrate(db: Database, steps: readonly Migration[]): void {
  for (const [i, step] of steps.entries()) {
    if (step.id !== i + 1) throw new Error(`migration ${step.name}: expected number ${i + 1}`);
  }
  const found = Number(db.pragma('user_version', { simple: true }));
  if (found > steps.length) {
    throw new Error(`this file is of schema ${found}; this build knows ${steps.length}: use a newer build`);
  }
  for (const step of steps.slice(found)) {
    db.transaction(() => {
      db.exec(step.sql);
      db.pragma(`user_version = ${step.id}`);
    }).immediate();
  }
}
