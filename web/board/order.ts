/** Groups of the worksheet and the order of rows in them. Pure: who watches the pointer is elsewhere. */
import type { AlarmView, MonitorView } from '../../shared/protocol/board.ts';
import { isWaiting } from '../feed/alarm-order.ts';
import { isAside } from '../words/alarm-states.ts';

export type Group = {
  readonly key: string;
  readonly title: string;
  /** What kind of team it is, where the title does not say so. */
  readonly kind: string | null;
  readonly ids: readonly string[];
};

const PARTS = [
  { role: 'entry', title: 'Entry teams', kind: 'entry team' },
  { role: 'backup', title: 'Backup', kind: 'backup team' },
  { role: 'decontamination', title: 'Decontamination', kind: 'decontamination' },
  { role: 'perimeter', title: 'Perimeter', kind: 'perimeter' },
  { role: undefined, title: 'Not assigned', kind: 'no part given' },
] as const;

/** Below all that waits or was answered. */
const PUT_ASIDE = 8;
const NOBODY_NEEDED = 9;

const byName = new Intl.Collator('en', { numeric: true, sensitivity: 'base' }).compare;

/**
 * How much somebody is needed at each monitor: 0 is most. It depends on alarms alone, so rows move when an alarm
 * changes and never because a value did.
 */
export function needRanks(alarms: readonly AlarmView[]): ReadonlyMap<string, number> {
  const ranks = new Map<string, number>();
  for (const alarm of alarms) {
    const level = alarm.priority === 'danger' ? 0 : alarm.priority === 'caution' ? 2 : 4;
    const rank = isAside(alarm) ? PUT_ASIDE : isWaiting(alarm) ? level : level + 1;
    const old = ranks.get(alarm.monitor);
    if (old === undefined || rank < old) ranks.set(alarm.monitor, rank);
  }
  return ranks;
}

/** Entry teams, backup, decontamination, perimeter, not assigned; within each, those who need somebody first. */
export function arrange(monitors: readonly MonitorView[], alarms: readonly AlarmView[]): Group[] {
  const ranks = needRanks(alarms);
  const rank = (view: MonitorView) => ranks.get(view.id) ?? NOBODY_NEEDED;
  const groups: Group[] = [];
  for (const part of PARTS) {
    const mine = monitors.filter((view) => view.role === part.role);
    const teams = [...new Set(mine.map((view) => view.team ?? ''))].sort(byName);
    for (const team of teams) {
      const rows = mine
        .filter((view) => (view.team ?? '') === team)
        .sort((a, b) => rank(a) - rank(b) || byName(a.entrant ?? a.id, b.entrant ?? b.id) || byName(a.id, b.id));
      const named = team !== '' && byName(team, part.title) !== 0;
      groups.push({
        key: `${part.role ?? 'none'}/${team}`,
        title: named ? team : part.title,
        kind: named ? part.kind : null,
        ids: rows.map((view) => view.id),
      });
    }
  }
  return groups;
}

/** True where both show the same rows at the same places. */
export function sameGroups(a: readonly Group[], b: readonly Group[]): boolean {
  return (
    a.length === b.length &&
    a.every((group, i) => {
      const other = b[i];
      return (
        other !== undefined &&
        group.key === other.key &&
        group.ids.length === other.ids.length &&
        group.ids.every((id, at) => id === other.ids[at])
      );
    })
  );
}

/**
 * What is shown while somebody is pointing: every row that is there stays where it is. A row that is new joins the
 * end of its group, a new group the end of the table, so that nothing moves under the hand.
 */
export function holdStill(shown: readonly Group[], wanted: readonly Group[]): Group[] {
  const all = new Set(wanted.flatMap((group) => group.ids));
  const placed = new Set(shown.flatMap((group) => group.ids));
  const groups = shown.map((group) => {
    const fresh = wanted.find((other) => other.key === group.key)?.ids.filter((id) => !placed.has(id)) ?? [];
    return { ...group, ids: [...group.ids.filter((id) => all.has(id)), ...fresh] };
  });
  const known = new Set(groups.map((group) => group.key));
  for (const group of wanted) {
    const fresh = group.ids.filter((id) => !placed.has(id));
    if (!known.has(group.key) && fresh.length > 0) groups.push({ ...group, ids: fresh });
  }
  return groups;
}

/** How many rows stand elsewhere than they would. */
export function rowsOutOfPlace(shown: readonly Group[], wanted: readonly Group[]): number {
  const flat = (groups: readonly Group[]) => groups.flatMap((group) => group.ids.map((id) => `${group.key} ${id}`));
  const target = flat(wanted);
  return flat(shown).filter((id, i) => id !== target[i]).length;
}
