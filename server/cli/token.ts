/** `upwind token add | list | revoke` */
import { z } from 'zod';
import { readDataDir } from '../config.ts';
import { askAccess } from './ask-access.ts';
import { asksForHelp, EXIT, readArguments, UsageError } from './command.ts';

const HELP = `Usage: upwind token add --relay NAME     a token for a program that posts packets
       upwind token add --viewer NAME    a token for a program that only reads
       upwind token list
       upwind token revoke ID|NAME

The token is printed once, alone, on the last line of stdout; only its hash is kept. It counts at once, on a running
server too. DATA_DIR names the folder (default ./data; the demonstration uses ./data-demo).
`;

const added = z.object({ id: z.string(), token: z.string() });
const revoked = z.object({ id: z.string(), name: z.string() });
const listed = z.array(
  z.object({
    id: z.string(),
    name: z.string(),
    role: z.string(),
    createdAtMs: z.number(),
    lastUsedAtMs: z.number().nullable(),
    revokedAtMs: z.number().nullable(),
  }),
);

export async function tokenCommand(argv: readonly string[]): Promise<number> {
  if (asksForHelp(argv)) {
    process.stdout.write(HELP);
    return EXIT.ok;
  }
  const [verb, ...rest] = argv;
  if (verb === 'add') return add(rest);
  if (verb === 'list') return list(rest);
  if (verb === 'revoke') return revoke(rest);
  throw new UsageError('token: add, list or revoke is needed; see upwind token --help');
}

async function add(args: string[]): Promise<number> {
  const { values } = readArguments({
    args,
    options: { relay: { type: 'string' }, viewer: { type: 'string' } },
  });
  const name = values.relay ?? values.viewer;
  if (name === undefined || (values.relay !== undefined && values.viewer !== undefined)) {
    throw new UsageError('token add: one of --relay NAME and --viewer NAME is needed');
  }
  const role = values.relay === undefined ? 'viewer' : 'relay';
  const { id, token } = added.parse(await run('token-add', { name, role }));
  process.stderr.write(`Token ${id} for ${role} ${name}. It is shown this once:\n`);
  process.stdout.write(`${token}\n`);
  return EXIT.ok;
}

async function list(args: string[]): Promise<number> {
  readArguments({ args, options: {} });
  for (const row of listed.parse(await run('token-list', {}))) {
    const state = row.revokedAtMs === null ? `last used ${iso(row.lastUsedAtMs)}` : `revoked ${iso(row.revokedAtMs)}`;
    process.stdout.write(`${row.id}\t${row.role}\t${row.name}\tmade ${iso(row.createdAtMs)}\t${state}\n`);
  }
  return EXIT.ok;
}

async function revoke(args: string[]): Promise<number> {
  const { positionals } = readArguments({ args, options: {}, allowPositionals: true });
  const [wanted, ...more] = positionals;
  if (wanted === undefined || more.length > 0) throw new UsageError('token revoke: one id or name is needed');
  const done = revoked.parse(await run('token-revoke', { name: wanted }));
  process.stdout.write(`Revoked ${done.id} (${done.name}).\n`);
  return EXIT.ok;
}

async function run(cmd: string, args: unknown): Promise<unknown> {
  const answer = await askAccess(readDataDir({ demo: false }), cmd, args);
  if (!answer.ok) throw new Error(answer.error);
  return answer.result;
}

function iso(ms: number | null): string {
  return ms === null ? 'never' : new Date(ms).toISOString();
}
