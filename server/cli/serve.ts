/** `upwind serve` and `upwind demo`: runs the post until a signal ends it. */
import { EXIT_BAD_CONFIG, readConfig } from '../config.ts';
import { asksForHelp, EXIT, oneLine, readArguments } from './command.ts';

const HELP = `Usage: upwind serve    the command post
       upwind demo     the same in its own folder, playing the demonstration scenario as an exercise

Settings come from the environment:
  HOST              address to listen on (127.0.0.1); beyond this machine it needs TLS or ALLOW_PLAIN_HTTP=1
  PORT              port (8080; 0 takes any free one)
  DATA_DIR          folder of the record (./data; demo: ./data-demo), on a local disk
  TLS_CERT TLS_KEY  files in PEM
  ALLOW_PLAIN_HTTP  1 serves other machines without TLS
  ALLOWED_ORIGINS   further origins that may act, for a proxy in front, separated by commas
  LOG_LEVEL         fatal error warn info debug trace silent (info)
  COMMIT_WINDOW_MS  how long a commit waits for more packets to share its sync (2)
Ctrl-C ends it.
`;
const STOP_WITHIN_MS = 10_000;

export async function serveCommand(argv: readonly string[], options: { demo: boolean }): Promise<number> {
  if (asksForHelp(argv)) {
    process.stdout.write(HELP);
    return EXIT.ok;
  }
  readArguments({ args: [...argv], options: {} });
  const read = readConfig(options);
  if (!read.ok) {
    for (const problem of read.problems) process.stderr.write(`upwind: ${problem}\n`);
    return EXIT_BAD_CONFIG;
  }
  const ended = nextSignal(); // before the start, which may take a while: Ctrl-C must end that too
  const { startServer } = await import('../main.ts');
  const server = await startServer(read.config, options);
  const signal = await ended;
  process.stderr.write(`upwind: ${signal}: closing the record and ending\n`);
  nextSignal().then(() => process.exit(EXIT.failure)); // asked twice: end at once, the journal bears it
  const late = setTimeout(() => {
    process.stderr.write(`upwind: did not end within ${STOP_WITHIN_MS / 1000} s: ending now\n`);
    process.exit(EXIT.failure);
  }, STOP_WITHIN_MS);
  try {
    await server.stop();
  } catch (error) {
    process.stderr.write(`upwind: ${oneLine(error)}\n`);
    return EXIT.failure;
  } finally {
    clearTimeout(late);
  }
  return EXIT.ok;
}

function nextSignal(): Promise<NodeJS.Signals> {
  return new Promise((resolve) => {
    for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.once(signal, resolve);
  });
}
