/**
 * What each person took in, worked out every 10 s from the monitors that they wore, and held against the set-points
 * of sums. Not with every packet: the sums move slowly, and they would be what costs most.
 */
import { isBack, meets, sumPointsOf } from '../alarm/compile.ts';
import type { SetPoint } from '../alarm/set-point.ts';
import { channelName } from '../quantity/display.ts';
import { baseOf, conditionEnded, gotWorse, listedAlarm, raise } from './alarms.ts';
import type { Changes } from './changes.ts';
import { setDeadline } from './deadlines.ts';
import { comparedSum, exposureOf } from './exposure-summary.ts';
import { setPointWords } from './levels.ts';
import type { IncidentState, PersonState } from './state.ts';
import { MILLISECOND, MINUTE, SECOND } from './time.ts';

const EVERY_US = 10 * SECOND;
/** After the monitor was handed back the 15-minute average still moves, and late news may come. */
const AFTER_US = 20 * MINUTE;

const keyOf = (name: string) => `exposure ${name}`;

/** The person got a monitor, or gave it back: from measured time, as of this record. */
export function changeWearing(state: IncidentState, person: PersonState, monitor: string | null): void {
  const atMs = Math.floor(state.now / MILLISECOND);
  const last = person.worn.at(-1);
  if (last !== undefined && last.toMs === null) {
    if (last.monitor === monitor) return;
    person.worn[person.worn.length - 1] = { ...last, toMs: atMs };
  }
  if (monitor !== null) person.worn.push({ monitor, fromMs: atMs, toMs: null });
  if (!state.deadlines.byKey.has(keyOf(person.name))) awaitNext(state, person.name);
}

function awaitNext(state: IncidentState, name: string): void {
  // At the same instant for all, so that screens get them together.
  const at = (Math.floor(state.now / EVERY_US) + 1) * EVERY_US;
  setDeadline(state.deadlines, { key: keyOf(name), kind: 'exposure', monitor: '', of: name, at });
}

/** Ten seconds are over. */
export function exposureDue(state: IncidentState, changes: Changes, name: string): void {
  const person = state.people.get(name);
  if (person === undefined) return;
  person.exposure = exposureOf(state, person);
  if (person.exposure !== null) changes.head = true;
  judgeExposures(state, changes, person);
  const last = person.worn.at(-1);
  const ended = last?.toMs ?? null;
  if (last === undefined || (ended !== null && state.now - ended * MILLISECOND > AFTER_US)) return;
  awaitNext(state, name);
}

/** Holds what was worked out last against the set-points of sums. */
export function judgeExposures(state: IncidentState, changes: Changes, person: PersonState): void {
  const summary = person.exposure;
  if (summary === null) return;
  for (const point of sumPointsOf(state.table)) {
    const compared = comparedSum(summary, point);
    const base = baseOf(`@${person.name}`, point.channel, point.id);
    const alarm = listedAlarm(state, base);
    if (compared === null) continue;
    if (!meets(point, compared.value)) {
      if (alarm?.condition === true && isOver(person, point, compared)) conditionEnded(state, changes, alarm);
      continue;
    }
    const words = wordsOf(point, compared);
    if (alarm?.condition === true) {
      const told = alarm.told;
      alarm.value = compared.value;
      if (alarm.worst === null || compared.value > alarm.worst) alarm.worst = compared.value;
      changes.alarms.add(alarm.id);
      // Told again when it went on by a quarter of the limit, not with every ten seconds.
      if (told === null || compared.value > told + point.value / 4) gotWorse(state, changes, alarm, { words });
      continue;
    }
    raise(state, changes, base, {
      monitor: person.monitor ?? person.worn.at(-1)?.monitor ?? '',
      entrant: person.name,
      kind: 'exposure',
      sensor: point.channel,
      setPoint: point.id,
      priority: point.priority,
      latched: point.latched,
      since: state.now,
      value: compared.value,
      late: false,
      whileDown: false,
      words,
      action: point.action,
      source: point.source,
      protected: point.protected,
    });
  }
}

/**
 * What was taken in does not go away: a sum that got smaller has lost something. A 15-minute average moves on, but
 * one with holes in it is a lower bound and shows nothing.
 */
function isOver(person: PersonState, point: SetPoint, compared: { value: number; partial: boolean }): boolean {
  if (point.compare !== 'stel' || !isBack(point, compared.value)) return false;
  return !compared.partial || person.monitor === null;
}

function wordsOf(point: SetPoint, compared: { value: number; partial: boolean; coveredMs: number; spanMs: number }) {
  const figure = Number(compared.value.toPrecision(3));
  const unit = point.unit === 'x' ? '' : ` ${point.unit}`;
  const name = point.compare === 'mixture' ? 'mixture' : channelName(point.channel);
  const minutes = (ms: number) => Math.round(ms / 60_000);
  const covered = compared.partial
    ? `, a lower bound: ${minutes(compared.coveredMs)} of ${minutes(compared.spanMs)} min measured`
    : '';
  return `${name} ${figure}${unit}, ${setPointWords(point)}${covered}`;
}
