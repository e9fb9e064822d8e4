/** Plays a scenario into a server through the same protocol that relays use. */
import { setMaxListeners } from 'node:events';
import { type Clock, systemClock } from './clock.ts';
import { type ScenarioCommand, scenarioCommands } from './commands.ts';
import { createRelaySender, type RelaySender, type SendCounts } from './relay-sender.ts';
import type { Scenario } from './scenario.ts';
import { createSimulation } from './simulation.ts';
import { stampMeasured } from './stamp.ts';

const TICK_MS = 250;
const LAST_DRAIN_MS = 20_000;

export type SimulationProgress = SendCounts & {
  /** Scenario time, ms; it goes on counting when the scenario repeats. */
  readonly scenarioMs: number;
  /** Packets measured and not yet taken by the server. */
  readonly waiting: number;
};
export type SimulationReport = SendCounts & { readonly unsent: number };

export type RunSimulationOptions = {
  /** Address of the server, for instance "http://127.0.0.1:8080". */
  readonly url: string;
  /** One token for all relays, or one for each. */
  readonly tokenFor: string | ((relay: string) => string);
  readonly scenario: Scenario;
  readonly seed: number;
  /** How many times faster than the wall clock; default 1. Packets carry honest wall times at any speed. */
  readonly speed?: number;
  readonly monitors?: number;
  /** Wall time after which the run ends; without it the scenario repeats until the signal aborts. */
  readonly durationMs?: number;
  /** Marks every packet `simulated: true`; default true. */
  readonly markSimulated?: boolean;
  /** Begins the boot ids; default made from the wall time, so that a second run is not a duplicate of the first. */
  readonly run?: string;
  readonly signal?: AbortSignal;
  /** Called once a tick, four times a second. */
  readonly onProgress?: (progress: SimulationProgress) => void;
  /** What the staff would do, when it is due, one after the other. Assignments come in the first playing only. */
  readonly onCommand?: (command: ScenarioCommand) => void | Promise<void>;
  readonly clock?: Clock;
  readonly fetch?: typeof fetch;
};

/**
 * Runs until the duration is over, the signal aborts, or the server refuses (rejects with RequestRefusedError; an
 * error of `onCommand` ends the run likewise). A server that is away, slow or full is waited for, without loss.
 */
export async function runSimulation(options: RunSimulationOptions): Promise<SimulationReport> {
  const { scenario, speed = 1, onProgress, onCommand } = options;
  if (!(speed > 0)) throw new RangeError('speed must be above 0');
  const clock = options.clock ?? systemClock;
  const startedAt = clock.now();
  const run = options.run ?? startedAt.toString(36);
  const simulation = createSimulation(scenario, {
    seed: options.seed,
    run,
    ...(options.monitors !== undefined && { monitors: options.monitors }),
  });
  const stamping = {
    startedAt,
    speed,
    markSimulated: options.markSimulated ?? true,
    checks: simulation.checks,
  };
  const counts: SendCounts = { stored: 0, duplicate: 0, rejected: 0, warnings: 0, retries: 0 };
  const stopping = new AbortController();
  const signal = AbortSignal.any([stopping.signal, ...(options.signal ? [options.signal] : [])]);
  setMaxListeners(0, signal); // one listener a relay, which is no leak
  const { tokenFor } = options;
  const senders = new Map<string, RelaySender>(
    simulation.relays.map((relay) => [
      relay,
      createRelaySender({
        url: options.url,
        token: typeof tokenFor === 'string' ? tokenFor : tokenFor(relay),
        counts,
        clock,
        signal,
        fetch: options.fetch ?? fetch,
      }),
    ]),
  );
  let failure: { readonly cause: unknown } | undefined;
  const fail = (cause: unknown) => {
    failure ??= { cause };
    stopping.abort();
  };
  const nextCommands = commandQueue(scenario);
  let commanding = Promise.resolve();

  function tick(scenarioMs: number): void {
    if (onCommand !== undefined) {
      for (const command of nextCommands(scenarioMs)) {
        commanding = commanding.then(() => (signal.aborted ? undefined : onCommand(command)));
      }
      commanding.catch(fail);
    }
    for (const emission of simulation.step(scenarioMs)) {
      senders.get(emission.relay)?.add([stampMeasured(emission, stamping)]);
    }
    for (const sender of senders.values()) sender.drain().catch(fail);
    onProgress?.({ ...counts, scenarioMs, waiting: waitingIn(senders) });
  }

  const endMs = options.durationMs ?? Number.POSITIVE_INFINITY;
  for (let n = 0; !signal.aborted; n += 1) {
    const elapsedMs = Math.min(endMs, clock.now() - startedAt);
    tick(elapsedMs * speed);
    if (elapsedMs >= endMs) break;
    // Against the start, so that late ticks do not add up.
    await clock.wait(Math.max(0, Math.min(endMs, (n + 1) * TICK_MS) - (clock.now() - startedAt)), signal);
  }
  await lastDrain(senders, commanding, signal, clock).catch(fail);
  stopping.abort();
  if (failure !== undefined) throw failure.cause;
  return { ...counts, unsent: waitingIn(senders) };
}

/** Waits for what is still to be sent, but not for ever. */
async function lastDrain(
  senders: ReadonlyMap<string, RelaySender>,
  commanding: Promise<void>,
  signal: AbortSignal,
  clock: Clock,
): Promise<void> {
  if (signal.aborted) return;
  const done = new AbortController();
  const drained = Promise.all([commanding, ...[...senders.values()].map((sender) => sender.drain())]);
  await Promise.race([drained, clock.wait(LAST_DRAIN_MS, AbortSignal.any([signal, done.signal]))]).finally(() =>
    done.abort(),
  );
}

/** Gives the commands that have fallen due since the last call; entries again each time the scenario repeats. */
function commandQueue(scenario: Scenario): (scenarioMs: number) => ScenarioCommand[] {
  const all = scenarioCommands(scenario);
  const durationMs = scenario.durationS * 1000;
  let playing = 0;
  let next = 0;
  return (scenarioMs) => {
    const due: ScenarioCommand[] = [];
    while (all.length > 0) {
      const command = all[next];
      if (command === undefined) {
        playing += 1;
        next = 0;
        continue;
      }
      const atMs = command.atMs + playing * durationMs;
      if (atMs > scenarioMs) break;
      if (playing === 0 || command.type === 'entry') due.push({ ...command, atMs });
      next += 1;
    }
    return due;
  };
}

function waitingIn(senders: ReadonlyMap<string, RelaySender>): number {
  return [...senders.values()].reduce((sum, sender) => sum + sender.waiting(), 0);
}
