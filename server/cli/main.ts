/** The command line: picks the command, and turns what went wrong into one line and an exit code. */
import { accountCommand } from './account.ts';
import { EXIT, oneLine, UsageError } from './command.ts';
import { serveCommand } from './serve.ts';
import { tokenCommand } from './token.ts';
import { readVersion } from './version.ts';

type Command = { summary: string; run(argv: string[]): Promise<number> };

const COMMANDS: Readonly<Record<string, Command>> = {
  serve: { summary: 'run the command post', run: (argv) => serveCommand(argv, { demo: false }) },
  demo: { summary: 'run a demonstration of it', run: (argv) => serveCommand(argv, { demo: true }) },
  token: { summary: 'add, list or revoke tokens of relays and reading programs', run: tokenCommand },
  account: { summary: 'add, list or disable accounts of people', run: accountCommand },
  simulate: {
    summary: 'play a scenario against a post',
    run: async (argv) => (await import('../simulator/cli.ts')).simulateCommand(argv),
  },
  verify: {
    summary: 'prove that a journal was not changed',
    run: async (argv) => (await import('./verify.ts')).verifyCommand(argv),
  },
  backup: notBuilt('backup'),
  export: notBuilt('export'),
  import: notBuilt('import'),
};

function notBuilt(name: string): Command {
  const run = async () => {
    process.stderr.write(`upwind: ${name} is not built yet\n`);
    return EXIT.failure;
  };
  return { summary: 'not built yet', run };
}

function list(): string {
  const lines = Object.entries(COMMANDS).map(([name, command]) => `  ${name.padEnd(10)}${command.summary}`);
  return `Usage: upwind COMMAND [--help]\n\n${lines.join('\n')}\n\n       upwind --version\n`;
}

async function main(argv: readonly string[]): Promise<number> {
  const [name, ...rest] = argv;
  if (name === '--version' || name === '-v') {
    process.stdout.write(`${readVersion()}\n`);
    return EXIT.ok;
  }
  if (name === '--help' || name === '-h' || name === 'help') {
    process.stdout.write(list());
    return EXIT.ok;
  }
  const command = name !== undefined && Object.hasOwn(COMMANDS, name) ? COMMANDS[name] : undefined;
  if (command === undefined) {
    process.stderr.write(
      `upwind: ${name === undefined ? 'a command is needed' : `unknown command ${name}`}\n${list()}`,
    );
    return EXIT.usage;
  }
  try {
    return await command.run(rest);
  } catch (error) {
    process.stderr.write(`upwind: ${oneLine(error)}\n`);
    return error instanceof UsageError ? EXIT.usage : EXIT.failure;
  }
}

// A reader that went away (`upwind token list | head -1`) must not end a server, nor anything with a stack trace.
for (const stream of [process.stdout, process.stderr]) stream.on('error', () => undefined);
const code = await main(process.argv.slice(2));
// Output that is still on its way to a pipe is written before the process ends.
process.stdout.write('', () => process.stderr.write('', () => process.exit(code)));
