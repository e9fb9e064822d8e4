/**
 * Whether a table of set-points can be adopted. What must not be missing or weakened is checked here, by the firm
 * defaults: combustible danger, IDLH and 10 R/h stay protected, and nothing delays them.
 */
import { compare } from '../quantity/canonical.ts';
import { CHANNELS, isKnownChannel, KNOWN_CHANNELS } from '../quantity/channels.ts';
import { channelName } from '../quantity/display.ts';
import { isRising } from './compile.ts';
import { assumedNormal } from './normal.ts';
import type { SetPoint, SetPointTable } from './set-point.ts';

export type TableProblem = {
  /** Where in the table, for instance `setPoints.3.deadband`. */
  readonly path: string;
  readonly code: string;
  readonly words: string;
  /** A warning does not keep the table from being adopted. */
  readonly severity: 'error' | 'warning';
};

/** What has to be there: a protected danger on this channel at this value or an earlier one. */
const REQUIRED: readonly { readonly channel: string; readonly atMost: number; readonly words: string }[] = [
  { channel: 'lel', atMost: 25, words: 'combustible danger at 25 %LEL or below' },
  { channel: 'co', atMost: 1200, words: 'carbon monoxide IDLH at 1200 ppm or below' },
  { channel: 'h2s', atMost: 100, words: 'hydrogen sulfide IDLH at 100 ppm or below' },
  { channel: 'gamma', atMost: 10_000_000, words: '10 R/h or below' },
];

/** Set-points of the post itself: their names are taken. */
const RESERVED: ReadonlySet<string> = new Set([
  'over-range',
  'down',
  'help',
  'still',
  'silent',
  'not-watched',
  'no-monitor',
  'relay-lost',
]);

/** All that is wrong with a table, errors and warnings, in its order. Empty: nothing. */
export function checkTable(table: SetPointTable): TableProblem[] {
  const problems: TableProblem[] = [];
  const seen = new Set<string>();
  for (const [i, point] of table.setPoints.entries()) {
    const say = (field: string, code: string, words: string, severity: TableProblem['severity'] = 'error') =>
      problems.push({ path: `setPoints.${i}.${field}`, code, words: `${point.id}: ${words}`, severity });
    if (seen.has(point.id)) say('id', 'duplicate-id', 'this id is there twice');
    seen.add(point.id);
    if (RESERVED.has(point.id)) say('id', 'reserved-id', 'the post itself has an alarm of this name');
    if (!/^[a-z0-9-]{1,32}$/.test(point.channel)) say('channel', 'channel-name', 'not the name of a channel');
    else if (!isKnownChannel(point.channel) && point.compare !== 'mixture')
      say('channel', 'unknown-channel', `no monitor is known to send ${point.channel}`, 'warning');
    const unit = unitFor(point);
    if (unit !== null && point.unit !== unit) say('unit', 'wrong-unit', `${point.unit} instead of ${unit}`);
    if (point.compare === 'dose' && point.channel !== 'gamma') say('compare', 'wrong-kind', 'a dose is of gamma only');
    if ((point.channel === 'o2' || point.channel === 'lel') && (point.compare === 'stel' || point.compare === 'twa'))
      say('compare', 'wrong-kind', `an average of ${channelName(point.channel)} means nothing`);
    if (point.source.trim() === '') say('source', 'no-source', 'says not where it is from');
    if (point.protected && point.onDelayMs > 0)
      say('onDelayMs', 'protected-delayed', 'what is protected sounds at once');
    if (point.protected && point.priority !== 'danger')
      say('priority', 'protected-not-danger', 'what is protected is danger');
    if (neverReturns(point)) say('deadband', 'deadband-too-wide', 'with this deadband it could never return');
    for (const other of table.setPoints) {
      if (other === point || !sameScale(point, other)) continue;
      if (point.priority === 'caution' && other.priority === 'danger' && isWorse(point, other.value))
        say('value', 'caution-above-danger', `a caution beyond the danger of ${other.id}`);
      if (reaches(point, other))
        say('deadband', 'deadband-too-wide', `its deadband reaches the next level, ${other.id}`);
    }
  }
  problems.push(...missing(table));
  return problems;
}

function missing(table: SetPointTable): TableProblem[] {
  const problems: TableProblem[] = [];
  for (const { channel, atMost, words } of REQUIRED) {
    const dangers = table.setPoints.filter(
      (point) =>
        point.channel === channel &&
        point.compare === 'value' &&
        isRising(point) &&
        point.priority === 'danger' &&
        (compare(point.value, atMost) < 0 || (compare(point.value, atMost) === 0 && point.direction === '>=')),
    );
    if (dangers.some((point) => point.protected && point.onDelayMs === 0)) continue;
    const code = dangers.length === 0 ? 'protected-missing' : 'protected-weakened';
    const how = dangers.length === 0 ? 'is missing' : 'must be protected and without delay';
    problems.push({ path: 'setPoints', code, words: `${words} ${how}`, severity: 'error' });
  }
  for (const channel of KNOWN_CHANNELS) {
    if (table.setPoints.some((point) => point.channel === channel)) continue;
    const words = `nothing watches ${channelName(channel)}`;
    problems.push({ path: 'setPoints', code: 'channel-without-set-point', words, severity: 'warning' });
  }
  return problems;
}

/** The unit that a set-point must have; null where any will do. */
function unitFor(point: SetPoint): string | null {
  if (point.compare === 'times-background' || point.compare === 'mixture') return 'x';
  if (point.compare === 'dose') return 'mR';
  return isKnownChannel(point.channel) ? CHANNELS[point.channel].unit : null;
}

function sameScale(a: SetPoint, b: SetPoint): boolean {
  return a.channel === b.channel && a.compare === b.compare && a.unit === b.unit && isRising(a) === isRising(b);
}

function isWorse(point: SetPoint, than: number): boolean {
  return isRising(point) ? compare(point.value, than) > 0 : compare(point.value, than) < 0;
}

/** The alarm of `point` would still stand where the one of `other`, the level before it, has begun or not yet. */
function reaches(point: SetPoint, other: SetPoint): boolean {
  if (point.deadband === 0 || !isWorse(point, other.value)) return false;
  const edge = isRising(point) ? point.value - point.deadband : point.value + point.deadband;
  return isRising(point) ? compare(edge, other.value) <= 0 : compare(edge, other.value) >= 0;
}

/** The deadband ends beyond what clean air reads. */
function neverReturns(point: SetPoint): boolean {
  const edge = isRising(point) ? point.value - point.deadband : point.value + point.deadband;
  const normal = assumedNormal(point);
  if (point.deadband === 0 || normal === null) return false;
  return isRising(point) ? compare(edge, normal) <= 0 : compare(edge, normal) >= 0;
}
