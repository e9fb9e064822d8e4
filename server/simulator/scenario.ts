/** Reads and checks scenarios: the shape, names that point nowhere, spans that end before they begin. */
import { readFileSync } from 'node:fs';
import { fileURLToPath } from 'node:url';
import { type Scenario, scenarioShape } from './scenario-shape.ts';

export type { Scenario, ScenarioMonitor, ScenarioPerson, Sensor } from './scenario-shape.ts';
export type ScenarioProblem = {
  readonly code: 'unreadable' | 'not-json' | 'invalid';
  readonly path: string;
  readonly message: string;
};
export type ScenarioResult =
  | { readonly ok: true; readonly scenario: Scenario }
  | { readonly ok: false; readonly problem: ScenarioProblem };

/** The units that the model computes in; every other sensor is for a gas, in ppm or ppb. */
const SENSOR_UNITS: Readonly<Record<string, readonly string[]>> = {
  o2: ['%vol'],
  lel: ['%LEL'],
  gamma: ['uR/h'],
};

/** Names that point nowhere, spans that end before they begin: what the shape alone cannot say. */
const scenarioSchema = scenarioShape.superRefine((s, context) => {
  const complain = (path: (string | number)[], message: string) => context.addIssue({ code: 'custom', path, message });
  const monitors = new Set(s.monitors.map((m) => m.id));
  const relays = new Set(s.relays.map((r) => r.name));
  const rooms = new Set(s.rooms.map((r) => r.name));
  const checkSpans = (path: (string | number)[], spans: readonly { fromS: number; toS: number }[]) =>
    spans.forEach((one, i) => {
      if (one.toS <= one.fromS) complain([...path, i, 'toS'], 'must be after fromS');
      if (one.toS > s.durationS) complain([...path, i, 'toS'], 'must not be after the end of the scenario');
    });
  if (monitors.size < s.monitors.length) complain(['monitors'], 'two monitors have the same id');
  s.monitors.forEach((m, i) => {
    if (!relays.has(m.relay)) complain(['monitors', i, 'relay'], `no relay is named "${m.relay}"`);
    m.sensors.forEach((key, j) => {
      if (!Object.hasOwn(s.sensors, key)) complain(['monitors', i, 'sensors', j], `no sensor is named "${key}"`);
    });
  });
  const carried = new Set<string>();
  s.people.forEach((p, i) => {
    if (!monitors.has(p.monitor)) complain(['people', i, 'monitor'], `no monitor is named "${p.monitor}"`);
    if (carried.has(p.monitor)) complain(['people', i, 'monitor'], `"${p.monitor}" is carried twice`);
    carried.add(p.monitor);
    checkSpans(['people', i, 'still'], p.still);
    const [first, last] = [p.walk[0], p.walk.at(-1)];
    if (first?.[1] !== last?.[1] || first?.[2] !== last?.[2]) {
      complain(['people', i, 'walk'], 'must end where it begins, because the scenario repeats');
    }
    if ((last?.[0] ?? 0) > s.durationS) complain(['people', i, 'walk'], 'is longer than the scenario');
  });
  for (const [key, { unit: sent }] of Object.entries(s.sensors)) {
    const units = SENSOR_UNITS[key] ?? ['ppm', 'ppb'];
    if (!units.includes(sent)) complain(['sensors', key, 'unit'], `must be ${units.join(' or ')}`);
  }
  s.monitors.forEach((m, i) => {
    if (!carried.has(m.id)) complain(['monitors', i, 'id'], `nobody carries "${m.id}"`);
  });
  s.faults.forEach((f, i) => {
    if (!monitors.has(f.monitor)) complain(['faults', i, 'monitor'], `no monitor is named "${f.monitor}"`);
  });
  checkSpans(['faults'], s.faults);
  s.relays.forEach((r, i) => {
    checkSpans(['relays', i, 'outages'], r.outages);
  });
  s.rooms.forEach((r, i) => {
    const target = s.rooms.findIndex((other) => other.name === r.into);
    if (r.into === undefined) return;
    if (!rooms.has(r.into)) complain(['rooms', i, 'into'], `no room is named "${r.into}"`);
    else if (target <= i) complain(['rooms', i, 'into'], 'must be a room further down the list');
  });
  if (s.rooms.reduce((sum, r) => sum + r.releaseShare, 0) > 1) {
    complain(['rooms'], 'the shares of the release come to more than 1');
  }
});

/** Checks a scenario; the first thing wrong is told with the path to it. */
export function checkScenario(data: unknown): ScenarioResult {
  const result = scenarioSchema.safeParse(data);
  if (result.success) return { ok: true, scenario: result.data };
  const issue = result.error.issues[0];
  const path = issue?.path.map(String).join('.') ?? '';
  return { ok: false, problem: { code: 'invalid', path, message: issue?.message ?? 'not a scenario' } };
}

/** Reads and checks a scenario file. */
export function loadScenario(file: string): ScenarioResult {
  let text: string;
  try {
    text = readFileSync(file, 'utf8');
  } catch (error) {
    const message = error instanceof Error ? error.message : String(error);
    return { ok: false, problem: { code: 'unreadable', path: '', message } };
  }
  let data: unknown;
  try {
    data = JSON.parse(text);
  } catch (error) {
    const message = error instanceof Error ? error.message : String(error);
    return { ok: false, problem: { code: 'not-json', path: '', message } };
  }
  return checkScenario(data);
}

/** The demonstration scenario that comes with the program. Throws if it is missing: the installation is broken. */
export function demonstrationScenario(): Scenario {
  // Run from the source the folder is two up, from the compiled output three.
  const candidates = ['../../seed-data/cold-store.json', '../../../seed-data/cold-store.json'];
  const results = candidates.map((path) => loadScenario(fileURLToPath(new URL(path, import.meta.url))));
  for (const result of results) if (result.ok) return result.scenario;
  const broken = results.find((r) => !r.ok && r.problem.code !== 'unreadable') ?? results[0];
  const problem = broken !== undefined && !broken.ok ? broken.problem : undefined;
  throw new Error(`demonstration scenario: ${problem?.path ?? ''} ${problem?.message ?? ''}`);
}
