/** `upwind simulate`: plays a scenario into a server from the command line. */
import { parseArgs } from 'node:util';
import { RequestRefusedError } from './relay-sender.ts';
import { demonstrationScenario, loadScenario, type Scenario } from './scenario.ts';
import { runSimulation, type SimulationProgress } from './send.ts';

const PROGRESS_EVERY_MS = 10_000;
const OK = 0;
const FAILED = 1;
const USAGE = 2;

const HELP = `Usage: upwind simulate --url URL --token TOKEN [options]

Plays a scenario into a server: monitors that move, read, fail and fall silent. Every packet is marked as simulated;
a real incident refuses such packets.

  --url URL            address of the server, for instance http://127.0.0.1:8080
  --token TOKEN        relay token of that server ("upwind token add --relay NAME" prints one)
  --scenario FILE      scenario to play; default: the cold store of the demonstration
  --seed N             whole number; the same seed gives the same readings (default 1)
  --speed X            times faster than the clock, above 0 up to 100 (default 1)
  --monitors N         how many monitors, 1 to 5000; beyond those of the scenario, posts on a ring (M-100, M-101, ...)
  --duration SECONDS   stop after so many seconds by the clock; default: until interrupted
  --help               this text

Exit codes: 0 done, 1 it failed, 2 wrong use.`;

type Wanted = {
  readonly url: string;
  readonly token: string;
  readonly scenario: Scenario;
  readonly seed: number;
  readonly speed: number;
  readonly monitors?: number;
  readonly durationMs?: number;
};
type Parsed =
  | { readonly kind: 'run'; readonly wanted: Wanted }
  | { readonly kind: 'help' }
  | { readonly kind: 'wrong'; readonly code: typeof USAGE | typeof FAILED; readonly message: string };

/** Runs `upwind simulate` with the arguments after that word; resolves to the exit code. */
export async function simulateCommand(argv: string[]): Promise<number> {
  const parsed = parse(argv);
  if (parsed.kind === 'help') {
    console.log(HELP);
    return OK;
  }
  if (parsed.kind === 'wrong') {
    console.error(`upwind simulate: ${parsed.message}`);
    return parsed.code;
  }
  const stop = new AbortController();
  const onSignal = () => stop.abort();
  process.once('SIGINT', onSignal);
  process.once('SIGTERM', onSignal);
  try {
    const report = await runSimulation({
      ...parsed.wanted,
      tokenFor: parsed.wanted.token,
      signal: stop.signal,
      onProgress: progressLines(),
    });
    console.log(`${countsLine(report)}, not sent ${report.unsent}`);
    if (report.firstRejection !== undefined) {
      console.error(`upwind simulate: ${report.rejected} packets rejected, first ${report.firstRejection}`);
    }
    const interrupted = stop.signal.aborted;
    const lost = report.unsent > 0 && !interrupted;
    if (lost) console.error(`upwind simulate: the server did not take ${report.unsent} packets`);
    return lost || report.rejected > 0 ? FAILED : OK;
  } catch (error) {
    const said = error instanceof Error ? error.message : String(error);
    console.error(`upwind simulate: ${error instanceof RequestRefusedError ? `refused: ${said}` : said}`);
    return FAILED;
  } finally {
    process.off('SIGINT', onSignal);
    process.off('SIGTERM', onSignal);
  }
}

function parse(argv: string[]): Parsed {
  let values: Record<string, string | boolean | undefined>;
  try {
    ({ values } = parseArgs({
      args: argv,
      strict: true,
      allowPositionals: false,
      options: {
        url: { type: 'string' },
        token: { type: 'string' },
        scenario: { type: 'string' },
        seed: { type: 'string' },
        speed: { type: 'string' },
        monitors: { type: 'string' },
        duration: { type: 'string' },
        help: { type: 'boolean', short: 'h' },
      },
    }));
  } catch (error) {
    const said = error instanceof Error ? error.message : String(error);
    return wrong(said.split('\n')[0] ?? said);
  }
  if (values.help === true) return { kind: 'help' };
  const { url, token } = values;
  if (typeof url !== 'string' || !isHttpUrl(url))
    return wrong('--url needs an address, for instance http://127.0.0.1:8080');
  if (typeof token !== 'string' || token === '') return wrong('--token needs a relay token');
  const seed = numberIn(values.seed ?? '1', 0, 2 ** 31, { whole: true });
  if (seed === undefined) return wrong('--seed needs a whole number from 0');
  const speed = numberIn(values.speed ?? '1', 0.01, 100);
  if (speed === undefined) return wrong('--speed needs a number from 0.01 to 100');
  const monitors = optional(values.monitors, (v) => numberIn(v, 1, 5000, { whole: true }));
  if (monitors === 'bad') return wrong('--monitors needs a whole number from 1 to 5000');
  const duration = optional(values.duration, (v) => numberIn(v, 0.1, 31_536_000));
  if (duration === 'bad') return wrong('--duration needs a number of seconds');
  const scenario = scenarioFrom(values.scenario);
  if ('kind' in scenario) return scenario;
  return {
    kind: 'run',
    wanted: {
      url,
      token,
      scenario: scenario.scenario,
      seed,
      speed,
      ...(monitors !== undefined && { monitors }),
      ...(duration !== undefined && { durationMs: duration * 1000 }),
    },
  };
}

function scenarioFrom(file: string | boolean | undefined): { scenario: Scenario } | Extract<Parsed, { kind: 'wrong' }> {
  if (typeof file !== 'string') return { scenario: demonstrationScenario() };
  const result = loadScenario(file);
  if (result.ok) return { scenario: result.scenario };
  const { code, path, message } = result.problem;
  const where = path === '' ? file : `${file} at ${path}`;
  return { kind: 'wrong', code: FAILED, message: `scenario ${where} is ${code}: ${message}` };
}

function wrong(message: string): Extract<Parsed, { kind: 'wrong' }> {
  return { kind: 'wrong', code: USAGE, message };
}

function optional<T>(
  value: string | boolean | undefined,
  read: (text: string) => T | undefined,
): T | undefined | 'bad' {
  if (value === undefined) return undefined;
  return (typeof value === 'string' ? read(value) : undefined) ?? 'bad';
}

function numberIn(text: string | boolean, least: number, most: number, { whole = false } = {}): number | undefined {
  if (typeof text !== 'string' || text.trim() === '') return undefined;
  const value = Number(text);
  const fits = Number.isFinite(value) && value >= least && value <= most;
  return fits && (!whole || Number.isInteger(value)) ? value : undefined;
}

function isHttpUrl(text: string): boolean {
  return URL.canParse(text) && /^https?:$/.test(new URL(text).protocol);
}

/** Prints a line now and then. */
function progressLines(): (progress: SimulationProgress) => void {
  let nextAt = performance.now() + PROGRESS_EVERY_MS;
  return (progress) => {
    if (performance.now() < nextAt) return;
    nextAt += PROGRESS_EVERY_MS;
    const seconds = Math.floor(progress.scenarioMs / 1000);
    const clock = `${Math.floor(seconds / 60)}:${String(seconds % 60).padStart(2, '0')}`;
    console.log(`scenario ${clock}: ${countsLine(progress)}, waiting ${progress.waiting}`);
  };
}

function countsLine(counts: Pick<SimulationProgress, 'stored' | 'duplicate' | 'rejected' | 'warnings'>): string {
  return `stored ${counts.stored}, duplicate ${counts.duplicate}, rejected ${counts.rejected}, warnings ${counts.warnings}`;
}
