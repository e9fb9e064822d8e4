/**
 * The packets of a scenario, in the order in which its relays would send them. Pure: the same scenario and seed give
 * the same packets to the byte, and it makes no difference in how many steps they are fetched.
 */
import type { WirePacket } from '../../shared/protocol/packet.ts';
import { type Carried, createMonitorModel, type MonitorModel } from './monitor-model.ts';
import type { Scenario, ScenarioMonitor } from './scenario.ts';
import { createWorld } from './world.ts';

/** After an outage a relay sends so many packets of its backlog in each slice of time. */
const BACKLOG_CHUNK = 25;
const BACKLOG_SLICE_MS = 250;
const LOAD_MONITORS_A_RELAY = 50;

export type Emission = {
  readonly relay: string;
  /** Milliseconds into the simulation at which it was measured, and at which the relay sends it. */
  readonly measuredMs: number;
  readonly dueMs: number;
  /** Without measuredAt and sentAt: only the sender has a clock. */
  readonly packet: WirePacket;
};

/** When a monitor was made ready, before the start of the run. */
export type MonitorChecks = Pick<
  ScenarioMonitor,
  'zeroedMinutesBefore' | 'bumpedMinutesBefore' | 'calibratedDaysBefore'
>;

export type Simulation = {
  /** Everything due after the last step up to and including `tMs`, in order. It never ends: the scenario repeats. */
  readonly step: (tMs: number) => Emission[];
  readonly relays: readonly string[];
  readonly checks: ReadonlyMap<string, MonitorChecks>;
};

export type SimulationOptions = {
  readonly seed: number;
  /**
   * How many monitors: fewer are the first of the scenario, more are added as posts M-100, M-101 … on a ring, on
   * relays of their own. Default: those of the scenario.
   */
  readonly monitors?: number;
  /**
   * Begins the boot ids (`run`-0, `run`-1 … one each time the scenario repeats). Two runs into one post need two
   * names, or the second is refused as a conflict with the first. Default "sim".
   */
  readonly run?: string;
};

type Unit = { readonly relay: string; readonly model: MonitorModel; seq: number; loop: number };
/** `order` counts measurements: it settles what goes first when two are due at one moment. */
type Queued = { readonly order: number; readonly emission: Emission };
type Held = { readonly relay: string; readonly endMs: number; readonly packets: Queued[] };

/** A simulation at its first moment. */
export function createSimulation(scenario: Scenario, options: SimulationOptions): Simulation {
  const run = options.run ?? 'sim';
  const durationMs = scenario.durationS * 1000;
  const world = createWorld(scenario);
  const carried = monitorsOf(scenario, options.monitors ?? scenario.monitors.length);
  const units: Unit[] = carried
    .map((one) => ({
      relay: one.monitor.relay,
      model: createMonitorModel(scenario, world, one, options.seed),
      seq: 0,
      loop: 0,
    }))
    .sort((a, b) => a.model.phaseMs - b.model.phaseMs);
  const outages = scenario.relays.flatMap((relay) =>
    relay.outages.map((span) => ({ relay: relay.name, fromMs: span.fromS * 1000, toMs: span.toS * 1000 })),
  );
  let round = 0;
  let nextUnit = 0;
  let held: Held[] = [];
  let waiting: Queued[] = [];
  let measured = 0;

  /** The end of the outage that a relay is in at `tMs`, if it is in one. */
  function outageEnd(relay: string, tMs: number): number | undefined {
    const loopStart = Math.floor(tMs / durationMs) * durationMs;
    const within = outages.find((o) => o.relay === relay && tMs - loopStart >= o.fromMs && tMs - loopStart < o.toMs);
    return within === undefined ? undefined : loopStart + within.toMs;
  }

  function hold(queued: Queued, endMs: number): void {
    const { relay } = queued.emission;
    const open = held.find((h) => h.relay === relay && h.endMs === endMs);
    if (open === undefined) held.push({ relay, endMs, packets: [queued] });
    else open.packets.push(queued);
  }

  function send({ order, emission }: Queued, dueMs: number): void {
    waiting.push({ order, emission: { ...emission, dueMs } });
  }

  /** Gives free what was held for outages that are over by `tMs`: the newest of each monitor, then the rest. */
  function release(tMs: number): void {
    for (const { endMs, packets } of held.filter((h) => h.endMs <= tMs)) {
      const newest = new Set(new Map(packets.map((q) => [q.emission.packet.monitor, q])).values());
      const rest = packets.filter((q) => !newest.has(q));
      for (const queued of newest) send(queued, endMs);
      rest.forEach((queued, i) => {
        const slice = 1 + Math.floor(i / BACKLOG_CHUNK);
        send(queued, endMs + slice * BACKLOG_SLICE_MS);
      });
    }
    held = held.filter((h) => h.endMs > tMs);
  }

  function measure(unit: Unit, measuredMs: number): void {
    const loop = Math.floor(measuredMs / durationMs);
    if (loop !== unit.loop) {
      unit.loop = loop;
      unit.seq = 0;
    }
    const packet = unit.model.packetAt(measuredMs, `${run}-${loop}`, unit.seq);
    unit.seq += 1;
    const emission = { relay: unit.relay, measuredMs, dueMs: measuredMs, packet };
    const queued = { order: measured, emission };
    measured += 1;
    const endMs = outageEnd(unit.relay, measuredMs);
    if (endMs === undefined) waiting.push(queued);
    else hold(queued, endMs);
  }

  function step(tMs: number): Emission[] {
    for (;;) {
      const unit = units[nextUnit];
      if (unit === undefined) break;
      const measuredMs = round * scenario.intervalMs + unit.model.phaseMs;
      if (measuredMs > tMs) break;
      measure(unit, measuredMs);
      nextUnit += 1;
      if (nextUnit === units.length) {
        nextUnit = 0;
        round += 1;
      }
    }
    release(tMs);
    const due = waiting.filter((q) => q.emission.dueMs <= tMs);
    waiting = waiting.filter((q) => q.emission.dueMs > tMs);
    due.sort((a, b) => a.emission.dueMs - b.emission.dueMs || a.order - b.order);
    return due.map((q) => q.emission);
  }

  return {
    step,
    relays: [...new Set(units.map((unit) => unit.relay))],
    checks: new Map(scenario.monitors.map((monitor) => [monitor.id, monitor])),
  };
}

/** The first `count` monitors with whoever carries them, and posts on a ring beyond those of the scenario. */
function monitorsOf(scenario: Scenario, count: number): Carried[] {
  const own = scenario.monitors.slice(0, count).flatMap((monitor) => {
    const person = scenario.people.find((p) => p.monitor === monitor.id);
    return person === undefined ? [] : [{ monitor, person }];
  });
  const extra = Array.from({ length: Math.max(0, count - own.length) }, (_, i) => ringPost(i));
  return [...own, ...extra];
}

function ringPost(index: number): Carried {
  const angle = index * 2.399963; // the golden angle: no two posts of any number coincide
  const radiusM = 150 + (index % 7) * 25;
  return {
    monitor: {
      id: `M-${100 + index}`,
      relay: `relay-load-${1 + Math.floor(index / LOAD_MONITORS_A_RELAY)}`,
      sensors: ['o2', 'lel', 'co', 'h2s', 'voc', 'gamma'],
      batteryPercent: 60 + (index % 40),
      drainPercentPerHour: 4,
      reportsMotion: false,
      zeroedMinutesBefore: 30,
      bumpedMinutesBefore: 40,
      calibratedDaysBefore: 5,
    },
    person: {
      walk: [[0, Math.round(radiusM * Math.sin(angle)), Math.round(radiusM * Math.cos(angle))]],
      still: [],
    },
  };
}
