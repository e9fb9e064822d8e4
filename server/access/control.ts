/** What the command line may ask about access, of a running server over its socket or of post.db itself. */
import { z } from 'zod';
import { role, staffRole } from '../../shared/protocol/access.ts';
import type { ControlAnswer, ControlHandlers } from '../cli/control-socket.ts';
import type { Access } from './access.ts';
import type { TokenRow } from './tokens.ts';

const tokenAdd = z.object({ name: z.string(), role: role.extract(['relay', 'viewer']) });
const accountAdd = z.object({ name: z.string(), role: staffRole, passphrase: z.string() });
const named = z.object({ name: z.string() });

/** Handlers for `token-add`, `token-list`, `token-revoke`, `account-add`, `account-list` and `account-disable`. */
export function accessCommands(access: Access): ControlHandlers {
  return {
    'token-add': async (args) => {
      const made = access.addToken(tokenAdd.parse(args));
      return made.ok ? { ok: true, result: { id: made.id, token: made.token } } : refusal(made.message);
    },
    'token-list': async () => ({ ok: true, result: access.listTokens() }),
    'token-revoke': async (args) => {
      const wanted = named.parse(args).name;
      const inUse = access.listTokens().filter((row) => row.revokedAtMs === null);
      const found = pick(inUse, wanted);
      if (typeof found === 'string') return refusal(found);
      const done = access.revokeToken(found.id);
      return done.ok ? { ok: true, result: { id: found.id, name: found.name } } : refusal(done.message);
    },
    'account-add': async (args) => {
      const made = await access.addAccount(accountAdd.parse(args));
      return made.ok
        ? { ok: true, result: { name: made.account.name, role: made.account.role } }
        : refusal(made.message);
    },
    'account-list': async () => ({ ok: true, result: access.listAccounts() }),
    'account-disable': async (args) => {
      const done = access.disableAccount(named.parse(args).name);
      return done.ok ? { ok: true, result: null } : refusal(done.message);
    },
  };
}

/** The token with the id `wanted`, or the only one of that name; otherwise why not. */
function pick(rows: readonly TokenRow[], wanted: string): TokenRow | string {
  const byId = rows.find((row) => row.id === wanted);
  if (byId !== undefined) return byId;
  const [first, ...more] = rows.filter((row) => row.name === wanted);
  if (first === undefined) return `no token in use has the id or name ${wanted}`;
  return more.length === 0 ? first : `${more.length + 1} tokens are named ${wanted}: give the id`;
}

function refusal(error: string): ControlAnswer {
  return { ok: false, error };
}
