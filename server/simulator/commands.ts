/** What the staff at the post do in a scenario, and the lines on its map. */
import { toLatLon } from './place.ts';
import type { Scenario, ScenarioPerson } from './scenario.ts';

export type AssignCommand = {
  readonly atMs: number;
  readonly type: 'assign';
  readonly monitor: string;
  readonly entrant: string;
  readonly team: string;
  readonly role: ScenarioPerson['role'];
};
export type EntryCommand = {
  readonly atMs: number;
  readonly type: 'entry';
  readonly entrant: string;
  readonly zone: 'cold' | 'warm' | 'hot';
};
export type ScenarioCommand = AssignCommand | EntryCommand;

export type ScenarioLine = {
  readonly kind: Scenario['lines'][number]['kind'];
  readonly name: string;
  readonly points: readonly { readonly lat: number; readonly lon: number }[];
};

/** The commands of one playing of a scenario, in order; `atMs` is scenario time. Assignments go before entries. */
export function scenarioCommands(scenario: Scenario): ScenarioCommand[] {
  const assigns: ScenarioCommand[] = scenario.people.map((p) => ({
    atMs: p.assignedAtS * 1000,
    type: 'assign',
    monitor: p.monitor,
    entrant: p.entrant,
    team: p.team,
    role: p.role,
  }));
  const entries: ScenarioCommand[] = scenario.people.flatMap((p) =>
    p.entries.map((e) => ({ atMs: e.atS * 1000, type: 'entry' as const, entrant: p.entrant, zone: e.zone })),
  );
  return [...assigns, ...entries].sort((a, b) => a.atMs - b.atMs);
}

/** The hot line and the control line of a scenario in degrees. */
export function scenarioLines(scenario: Scenario): ScenarioLine[] {
  return scenario.lines.map((line) => ({
    kind: line.kind,
    name: line.name,
    points: line.points.map(([east, north]) => toLatLon(scenario.origin, east, north)),
  }));
}
