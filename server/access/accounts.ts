/** People who can log in. */
import type { StaffRole } from '../../shared/protocol/access.ts';
import type { Db } from '../store/open-database.ts';
import type { Clock } from './gate.ts';
import { BAD_NAME, cleanName, type Refusal } from './identity.ts';
import { checkPassphrase, hashPassphrase, PASSPHRASE_LEAST, PASSPHRASE_MOST } from './passphrase.ts';

export type Account = { id: number; name: string; role: StaffRole };
export type AccountRow = Account & { createdAtMs: number; disabled: boolean };
export type AccountRequest = { name: string; role: StaffRole; passphrase: string };
export type AddRefusal = Refusal<'name-invalid' | 'name-taken' | 'passphrase-invalid'>;
export type Accounts = ReturnType<typeof createAccounts>;

/** Stands where the demonstration's account has no passphrase: nothing that is typed matches it. */
const DEMO_PASSPHRASE = '!demo';
const DEMO_NAME = 'Demonstration commander';

export function createAccounts(deps: { db: Db; clock: Clock }) {
  const { db, clock } = deps;
  const insert = db.prepare<[string, StaffRole, string, number]>(
    'INSERT INTO account (name, role, passphrase, created_at) VALUES (?, ?, ?, ?) ON CONFLICT (name) DO NOTHING',
  );
  const byName = db.prepare<[string], Account & { passphrase: string }>(
    'SELECT id, name, role, passphrase FROM account WHERE name = ? AND disabled = 0',
  );
  const all = db.prepare<[], Account & { createdAtMs: number; disabled: number }>(
    'SELECT id, name, role, created_at AS createdAtMs, disabled FROM account ORDER BY name',
  );
  const commanders = db
    .prepare<[string], number>(
      "SELECT count(*) FROM account WHERE role = 'commander' AND disabled = 0 AND passphrase <> ?",
    )
    .pluck();
  const ofDemo = db.prepare<[string], Account>('SELECT id, name, role FROM account WHERE passphrase = ?');
  const disableByName = db.prepare<[string]>('UPDATE account SET disabled = 1 WHERE name = ? AND disabled = 0');
  let decoy: Promise<string> | null = null;

  function put(name: string, role: StaffRole, stored: string): { ok: true; account: Account } | AddRefusal {
    const done = insert.run(name, role, stored, clock.nowMs());
    if (done.changes === 0) return { ok: false, code: 'name-taken', message: `an account is named ${name} already` };
    return { ok: true, account: { id: Number(done.lastInsertRowid), name, role } };
  }

  async function add(request: AccountRequest): Promise<{ ok: true; account: Account } | AddRefusal> {
    const name = cleanName(request.name);
    if (name === null) return BAD_NAME;
    const { length } = request.passphrase;
    if (length < PASSPHRASE_LEAST || length > PASSPHRASE_MOST) {
      const message = `a passphrase has ${PASSPHRASE_LEAST} to ${PASSPHRASE_MOST} characters`;
      return { ok: false, code: 'passphrase-invalid', message };
    }
    return put(name, request.role, await hashPassphrase(request.passphrase));
  }

  /** The account when name and passphrase fit. An unknown name takes as long as a known one. */
  async function check(name: string, passphrase: string): Promise<Account | null> {
    decoy ??= hashPassphrase('');
    const found = byName.get(name.normalize('NFC').trim());
    const fits = await checkPassphrase(passphrase, found?.passphrase ?? (await decoy));
    return fits && found !== undefined ? { id: found.id, name: found.name, role: found.role } : null;
  }

  function disable(name: string): { ok: true; account: Account } | Refusal<'unknown'> {
    const found = byName.get(name);
    if (found === undefined) return { ok: false, code: 'unknown', message: `no account in use is named ${name}` };
    disableByName.run(name);
    return { ok: true, account: found };
  }

  function demoAccount(): Account {
    const found = ofDemo.get(DEMO_PASSPHRASE);
    if (found !== undefined) return found;
    const made = put(DEMO_NAME, 'commander', DEMO_PASSPHRASE);
    if (!made.ok) throw new Error(made.message);
    return made.account;
  }

  return {
    add,
    check,
    disable,
    demoAccount,
    list: (): AccountRow[] => all.all().map((row) => ({ ...row, disabled: row.disabled === 1 })),
    /** Whether somebody can govern the post: with nobody, the terminal offers to make the first commander. */
    hasCommander: (): boolean => (commanders.get(DEMO_PASSPHRASE) ?? 0) > 0,
  };
}
