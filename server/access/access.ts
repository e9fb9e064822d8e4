/** Who may do what at this post: accounts, sessions, tokens, wall screens and the first start, over post.db. */
import type { Db } from '../store/open-database.ts';
import { type AccountRequest, type AddRefusal, createAccounts } from './accounts.ts';
import { readCookie, SESSION_COOKIE, WALL_COOKIE } from './cookies.ts';
import { type Clock, createGate, createQueue } from './gate.ts';
import type { Credentials, Identity, NewSession, Refusal } from './identity.ts';
import { digest, matches, newReadableCode, newSecret, normaliseCode } from './secrets.ts';
import { createSessions } from './sessions.ts';
import { createTokens, type NewToken, type TokenRole } from './tokens.ts';

export const PAIRING_LASTS_MS = 5 * 60_000;
const BEARER = /^Bearer +(\S{1,256}) *$/i;
export type Access = ReturnType<typeof createAccess>;
export type Wait = Refusal<'wait'> & { retryAfterS: number };
export type SessionAnswer<Code extends string> = { ok: true; session: NewSession } | Refusal<Code> | Wait;

/** `secure` marks the cookies for TLS alone; `demo` lets the demonstration's account act. */
export function createAccess(options: { db: Db; clock: Clock; secure: boolean; demo?: boolean }) {
  const { db, clock, secure, demo = false } = options;
  const listeners = new Set<(id: string) => void>();
  const announce = (id: string) => {
    for (const listener of listeners) listener(id);
  };
  const accounts = createAccounts({ db, clock });
  const sessions = createSessions({ db, clock, demo, announce });
  const tokens = createTokens({ db, clock, announce });
  const gate = createGate(clock);
  // A check holds 32 MiB and a thread of the pool that all file work shares: two at once, and a short line.
  const stretch = createQueue(2, 16);
  let first: string | null = null;
  let redeeming = false;
  const pairings = new Map<string, { name: string; expiresAtMs: number }>();

  async function login(request: {
    name: string;
    passphrase: string;
    address: string;
  }): Promise<SessionAnswer<'wrong' | 'busy'>> {
    const key = `${request.name.normalize('NFC').trim().toLowerCase()}\n${request.address}`;
    const turn = gate.enter(key);
    if (!turn.ok) return wait(turn.waitMs);
    const found = await stretch(async () => ({
      account: await accounts.check(request.name, request.passphrase),
    }));
    if (found === null) return { ok: false, code: 'busy', message: 'too many logins at once: try again' };
    if (found.account === null) return { ok: false, code: 'wrong', message: 'name or passphrase is wrong' };
    gate.passed(key);
    return { ok: true, session: sessions.open(found.account) };
  }

  /** Who sends these headers. A bearer token, right or wrong, is judged alone; then a session; then a wall screen. */
  function identify(headers: Credentials): Identity | null {
    if (headers.authorization !== undefined) {
      const secret = BEARER.exec(headers.authorization)?.[1];
      return secret === undefined ? null : tokens.identify(secret, 'bearer');
    }
    if (headers.cookie === undefined) return null;
    const session = readCookie(headers.cookie, SESSION_COOKIE);
    const person = session === null ? null : sessions.identify(session);
    if (person !== null) return person;
    const wall = readCookie(headers.cookie, WALL_COOKIE);
    return wall === null ? null : tokens.identify(wall, 'wall');
  }

  /** The code that makes the first commander, while nobody can govern; the same until it is used. */
  function firstCode(): string | null {
    if (accounts.hasCommander()) first = null;
    else first ??= newSecret('');
    return first;
  }

  async function redeemFirstCode(request: {
    code: string;
    name: string;
    passphrase: string;
  }): Promise<SessionAnswer<'code' | AddRefusal['code']>> {
    const expected = firstCode();
    if (expected === null || redeeming || !matches(request.code, digest(expected))) {
      return {
        ok: false,
        code: 'code',
        message: 'this link was used or is not from the last start of the server',
      };
    }
    redeeming = true; // two at once must not both become commander
    try {
      const made = await accounts.add({
        name: request.name,
        role: 'commander',
        passphrase: request.passphrase,
      });
      return made.ok ? { ok: true, session: sessions.open(made.account) } : made;
    } finally {
      redeeming = false;
    }
  }

  /** A code that turns one browser into a wall screen; good once, for five minutes. */
  function pairWall(request: { name: string }): { code: string; expiresAtMs: number } {
    const nowMs = clock.nowMs();
    for (const [key, pairing] of pairings) if (pairing.expiresAtMs <= nowMs) pairings.delete(key);
    const code = newReadableCode();
    const expiresAtMs = nowMs + PAIRING_LASTS_MS;
    pairings.set(digest(code), { name: request.name, expiresAtMs });
    return { code, expiresAtMs };
  }

  function redeemWall(request: { code: string; address: string }): NewToken | Refusal<'code' | 'name-invalid'> | Wait {
    const key = `wall\n${request.address}`;
    const turn = gate.enter(key);
    if (!turn.ok) return wait(turn.waitMs);
    const hash = digest(normaliseCode(request.code));
    const pairing = pairings.get(hash);
    pairings.delete(hash);
    if (pairing === undefined || pairing.expiresAtMs <= clock.nowMs()) {
      return {
        ok: false,
        code: 'code',
        message: 'this code was used, is over five minutes old or was never given',
      };
    }
    gate.passed(key);
    return tokens.add({ name: pairing.name, role: 'viewer', kind: 'wall' });
  }

  return {
    secure,
    login,
    logout: (secret: string): void => sessions.close(secret),
    identify,
    sessionExpiresAtMs: (secret: string): number | null => sessions.expiresAtMs(secret),
    addAccount: (request: AccountRequest) => accounts.add(request),
    listAccounts: accounts.list,
    /** Ends the account's sessions at once; the name stays taken, because the record names it. */
    disableAccount(name: string): { ok: true } | Refusal<'unknown'> {
      const done = accounts.disable(name);
      if (!done.ok) return done;
      sessions.closeAllOf(done.account.id);
      return { ok: true };
    },
    addToken: (request: { name: string; role: TokenRole }) => tokens.add({ ...request, kind: 'bearer' }),
    revokeToken: (id: string) => tokens.revoke(id, 'bearer'),
    listTokens: () => tokens.list('bearer'),
    firstCode,
    redeemFirstCode,
    /** A session of the demonstration's commander. Throws unless this is a demonstration. */
    demoSession(): NewSession {
      if (!demo) throw new Error('not a demonstration');
      return sessions.open(accounts.demoAccount());
    },
    pairWall,
    redeemWall,
    revokeWall: (id: string) => tokens.revoke(id, 'wall'),
    listWalls: () => tokens.list('wall'),
    /** Calls `listener` with the identity's id when it must not be served any longer; returns how to stop that. */
    onRevoked(listener: (id: string) => void): () => void {
      listeners.add(listener);
      return () => void listeners.delete(listener);
    },
    /** Writes when tokens and sessions were last used, and ends what has expired. Call it once a minute. */
    flush(): void {
      sessions.flush();
      tokens.flush();
    },
  };
}

function wait(waitMs: number): Wait {
  const retryAfterS = Math.ceil(waitMs / 1000);
  return { ok: false, code: 'wait', message: `too many wrong tries: wait ${retryAfterS} s`, retryAfterS };
}
