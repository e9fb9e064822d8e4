/**
 * Secrets that programs and wall screens carry. A relay shows its token with every packet, so a token that is known
 * costs one hash and one look into a Map; when it was last used is written by `flush`, never by the request.
 */
import type { Db } from '../store/open-database.ts';
import type { Clock } from './gate.ts';
import { BAD_NAME, cleanName, type Identity, type Refusal } from './identity.ts';
import { digest, newId, newSecret } from './secrets.ts';

export type TokenRole = 'relay' | 'viewer';
export type TokenKind = 'bearer' | 'wall';
export type TokenRow = {
  id: string;
  name: string;
  role: TokenRole;
  kind: TokenKind;
  createdAtMs: number;
  lastUsedAtMs: number | null;
  revokedAtMs: number | null;
};
export type NewToken = { ok: true; id: string; token: string };
export type Tokens = ReturnType<typeof createTokens>;

const COLUMNS = `id, name, role, kind, created_at AS createdAtMs, last_used_at AS lastUsedAtMs, revoked_at AS revokedAtMs`;

export function createTokens(deps: { db: Db; clock: Clock; announce(id: string): void }) {
  const { db, clock } = deps;
  const insert = db.prepare<[string, string, TokenRole, TokenKind, Buffer, number]>(
    'INSERT INTO token (id, name, role, kind, hash, created_at) VALUES (?, ?, ?, ?, ?, ?)',
  );
  const byHash = db.prepare<[Buffer], TokenRow>(`SELECT ${COLUMNS} FROM token WHERE hash = ? AND revoked_at IS NULL`);
  const all = db.prepare<[TokenKind], TokenRow>(`SELECT ${COLUMNS} FROM token WHERE kind = ? ORDER BY created_at, id`);
  const end = db.prepare<[number, string, TokenKind]>(
    'UPDATE token SET revoked_at = ? WHERE id = ? AND kind = ? AND revoked_at IS NULL',
  );
  const touch = db.prepare<[number, string]>('UPDATE token SET last_used_at = ? WHERE id = ?');
  const known = new Map<string, { identity: Identity; kind: TokenKind; used: boolean }>();

  function add(request: { name: string; role: TokenRole; kind: TokenKind }): NewToken | Refusal<'name-invalid'> {
    const name = cleanName(request.name);
    if (name === null) return BAD_NAME;
    const id = newId(request.kind === 'wall' ? 'w-' : 't-');
    const token = newSecret('uw_');
    insert.run(id, name, request.role, request.kind, Buffer.from(digest(token), 'hex'), clock.nowMs());
    return { ok: true, id, token };
  }

  function identify(secret: string, kind: TokenKind): Identity | null {
    const key = digest(secret); // looking up by the digest tells a guesser nothing about the secret
    let entry = known.get(key);
    if (entry === undefined) {
      const row = byHash.get(Buffer.from(key, 'hex'));
      if (row === undefined) return null;
      const by = row.kind === 'wall' ? 'wall' : 'token';
      entry = {
        identity: Object.freeze({ name: row.name, role: row.role, by, id: row.id }),
        kind: row.kind,
        used: false,
      };
      known.set(key, entry);
    }
    if (entry.kind !== kind) return null;
    entry.used = true;
    return entry.identity;
  }

  function revoke(id: string, kind: TokenKind): { ok: true } | Refusal<'unknown'> {
    if (end.run(clock.nowMs(), id, kind).changes === 0) {
      return {
        ok: false,
        code: 'unknown',
        message: `no ${kind === 'wall' ? 'wall screen' : 'token'} in use has the id ${id}`,
      };
    }
    for (const [key, entry] of known) if (entry.identity.id === id) known.delete(key);
    deps.announce(id);
    return { ok: true };
  }

  function flush(): void {
    const used = [...known.values()].filter((entry) => entry.used);
    if (used.length === 0) return;
    const nowMs = clock.nowMs();
    db.transaction(() => {
      for (const entry of used) touch.run(nowMs, entry.identity.id);
    }).immediate();
    for (const entry of used) entry.used = false;
  }

  return { add, identify, revoke, flush, list: (kind: TokenKind): TokenRow[] => all.all(kind) };
}
