/** `upwind account add | list | disable` */
import { z } from 'zod';
import { staffRole } from '../../shared/protocol/access.ts';
import { readDataDir } from '../config.ts';
import { askAccess } from './ask-access.ts';
import { askPassphrase, readPassphrase } from './ask-passphrase.ts';
import { asksForHelp, EXIT, readArguments, UsageError } from './command.ts';

const HELP = `Usage: upwind account add --name NAME --role ROLE [--passphrase-stdin]
       upwind account list
       upwind account disable --name NAME

Roles: viewer     looks
       entry      also types readings, PAR, air and motion for teams
       officer    also acknowledges, resets, shelves, draws and adopts set-points
       commander  also opens and closes incidents, keeps accounts and persons' records

The passphrase (8 characters or more) is asked on the terminal without showing it, or read from stdin. The account
counts at once, on a running server too; disabling one logs it out. DATA_DIR names the folder (default ./data).
`;

const listed = z.array(
  z.object({ name: z.string(), role: z.string(), createdAtMs: z.number(), disabled: z.boolean() }),
);

export async function accountCommand(argv: readonly string[]): Promise<number> {
  if (asksForHelp(argv)) {
    process.stdout.write(HELP);
    return EXIT.ok;
  }
  const [verb, ...rest] = argv;
  if (verb === 'add') return add(rest);
  if (verb === 'list') return list(rest);
  if (verb === 'disable') return disable(rest);
  throw new UsageError('account: add, list or disable is needed; see upwind account --help');
}

async function add(args: string[]): Promise<number> {
  const { values } = readArguments({
    args,
    options: { name: { type: 'string' }, role: { type: 'string' }, 'passphrase-stdin': { type: 'boolean' } },
  });
  const { name } = values;
  const role = staffRole.safeParse(values.role);
  if (name === undefined) throw new UsageError('account add: --name NAME is needed');
  if (!role.success) throw new UsageError(`account add: --role is one of ${staffRole.options.join(', ')}`);
  const passphrase = values['passphrase-stdin'] ? await readPassphrase() : await askPassphrase(name);
  await run('account-add', { name, role: role.data, passphrase });
  process.stdout.write(`Account ${name} (${role.data}) is ready.\n`);
  return EXIT.ok;
}

async function list(args: string[]): Promise<number> {
  readArguments({ args, options: {} });
  for (const row of listed.parse(await run('account-list', {}))) {
    const made = new Date(row.createdAtMs).toISOString();
    process.stdout.write(`${row.name}\t${row.role}\tmade ${made}${row.disabled ? '\tdisabled' : ''}\n`);
  }
  return EXIT.ok;
}

async function disable(args: string[]): Promise<number> {
  const { values } = readArguments({ args, options: { name: { type: 'string' } } });
  if (values.name === undefined) throw new UsageError('account disable: --name NAME is needed');
  await run('account-disable', { name: values.name });
  process.stdout.write(`Account ${values.name} is disabled and logged out.\n`);
  return EXIT.ok;
}

async function run(cmd: string, args: unknown): Promise<unknown> {
  const answer = await askAccess(readDataDir({ demo: false }), cmd, args);
  if (!answer.ok) throw new Error(answer.error);
  return answer.result;
}
