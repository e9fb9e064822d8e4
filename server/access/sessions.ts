/** Logins of people: a random secret in a cookie, its hash and its end in post.db. */
import type { StaffRole } from '../../shared/protocol/access.ts';
import type { Db } from '../store/open-database.ts';
import type { Clock } from './gate.ts';
import type { Identity, NewSession } from './identity.ts';
import { digest, newSecret } from './secrets.ts';

export const SESSION_LASTS_MS = 24 * 3_600_000;
export type Sessions = ReturnType<typeof createSessions>;
type Known = { identity: Identity; accountId: number; expiresAtMs: number; used: boolean };
type Row = { name: string; role: StaffRole; accountId: number; expiresAtMs: number };

/** `demo` false refuses sessions of the demonstration's own account, which has no passphrase. */
export function createSessions(deps: { db: Db; clock: Clock; demo: boolean; announce(id: string): void }) {
  const { db, clock } = deps;
  const insert = db.prepare<[Buffer, number, number, number]>(
    'INSERT INTO session (token_hash, account_id, created_at, expires_at) VALUES (?, ?, ?, ?)',
  );
  const byHash = db.prepare<[Buffer, number], Row>(`
    SELECT a.name, a.role, s.account_id AS accountId, s.expires_at AS expiresAtMs
    FROM session s JOIN account a ON a.id = s.account_id
    WHERE s.token_hash = ? AND a.disabled = 0 ${deps.demo ? '' : "AND a.passphrase <> '!demo'"} AND s.expires_at > ?`);
  const remove = db.prepare<[Buffer]>('DELETE FROM session WHERE token_hash = ?');
  const removeOfAccount = db.prepare<[number]>('DELETE FROM session WHERE account_id = ?');
  const removeOld = db.prepare<[number]>('DELETE FROM session WHERE expires_at <= ?');
  const touch = db.prepare<[number, Buffer]>('UPDATE session SET last_used_at = ? WHERE token_hash = ?');
  const known = new Map<string, Known>();

  function open(account: { id: number; name: string; role: StaffRole }): NewSession {
    const secret = newSecret('');
    const nowMs = clock.nowMs();
    const expiresAtMs = nowMs + SESSION_LASTS_MS;
    removeOld.run(nowMs);
    insert.run(Buffer.from(digest(secret), 'hex'), account.id, nowMs, expiresAtMs);
    return { secret, name: account.name, role: account.role, expiresAtMs };
  }

  function find(secret: string): Known | null {
    const key = digest(secret);
    const nowMs = clock.nowMs();
    let entry = known.get(key);
    if (entry === undefined) {
      const row = byHash.get(Buffer.from(key, 'hex'), nowMs);
      if (row === undefined) return null;
      const identity: Identity = Object.freeze({
        name: row.name,
        role: row.role,
        by: 'session',
        id: sessionId(key),
      });
      entry = { identity, accountId: row.accountId, expiresAtMs: row.expiresAtMs, used: false };
      known.set(key, entry);
    }
    if (entry.expiresAtMs <= nowMs) {
      forget(key);
      return null;
    }
    entry.used = true;
    return entry;
  }

  function forget(key: string): void {
    known.delete(key);
    deps.announce(sessionId(key));
  }

  function close(secret: string): void {
    const key = digest(secret);
    if (remove.run(Buffer.from(key, 'hex')).changes > 0) forget(key);
  }

  function closeAllOf(accountId: number): void {
    removeOfAccount.run(accountId);
    for (const [key, entry] of known) if (entry.accountId === accountId) forget(key);
  }

  /** Writes when sessions were last used and announces those that ended by time. */
  function flush(): void {
    const nowMs = clock.nowMs();
    for (const [key, entry] of known) if (entry.expiresAtMs <= nowMs) forget(key);
    const used = [...known].filter(([, entry]) => entry.used);
    if (used.length === 0) return;
    db.transaction(() => {
      for (const [key] of used) touch.run(nowMs, Buffer.from(key, 'hex'));
    }).immediate();
    for (const [, entry] of used) entry.used = false;
  }

  return {
    open,
    close,
    closeAllOf,
    flush,
    identify: (secret: string): Identity | null => find(secret)?.identity ?? null,
    expiresAtMs: (secret: string): number | null => find(secret)?.expiresAtMs ?? null,
  };
}

function sessionId(key: string): string {
  return `s-${key.slice(0, 12)}`;
}
