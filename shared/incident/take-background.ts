/**
 * Taking a background. It is refused where it would hide something: above a ceiling, taken past staging, while another
 * channel is off normal, or off a reading that is old or in doubt. An officer may override with a reason; raising
 * one shows first which alarms it would silence.
 */
import { backgroundLimit } from '../alarm/background-limits.ts';
import { comparedValue, meets, pointsOf } from '../alarm/compile.ts';
import type { CommandAnswer } from '../protocol/commands.ts';
import { compare, toCanonical } from '../quantity/canonical.ts';
import type { Unit } from '../quantity/channels.ts';
import { channelName, valueWords } from '../quantity/display.ts';
import { baseOf, listedAlarm } from './alarms.ts';
import { backgroundOf, SITE } from './backgrounds.ts';
import { tellBoard } from './board-events.ts';
import type { Changes } from './changes.ts';
import { judgeAnew } from './levels.ts';
import { personOf } from './people.ts';
import type { StaffAct } from './records.ts';
import type { AlarmRecord, Background, IncidentState, MonitorState } from './state.ts';
import { cellStanding } from './view-cell.ts';

type Act = Extract<StaffAct, { type: 'background' }>;
type Wanted = { readonly channel: string; readonly value: number; readonly unit: Unit };
type Refusal = { readonly code: string; readonly message: string };

/** Carries out the command; the state is changed only where the answer is `done`. */
export function takeBackground(state: IncidentState, changes: Changes, by: string, act: Act): CommandAnswer {
  const monitor = act.scope === SITE ? null : (state.monitors.get(act.scope) ?? null);
  if (act.scope !== SITE && monitor === null) {
    return refused({ code: 'no-such-monitor', message: `${act.scope} was never heard` });
  }
  const wanted = wantedOf(monitor, act);
  if (!Array.isArray(wanted)) return refused(wanted);
  if (act.override === undefined) {
    const doubt = doubtOf(state, monitor, act, wanted);
    if (doubt !== null) return refused(doubt);
  }
  const silenced = wouldSilence(state, act.scope, wanted);
  if (silenced.length > 0 && act.confirm !== true) {
    const list = silenced.map((alarm) => `${alarm.monitor}: ${alarm.words}`).join('; ');
    return { status: 'changed', code: 'would-silence', message: `This would end: ${list}` };
  }
  const kept = state.backgrounds.get(act.scope) ?? new Map<string, Background>();
  for (const { channel, value } of wanted) {
    kept.set(channel, { value, assumed: false, by, at: state.now, override: act.override ?? null });
  }
  state.backgrounds.set(act.scope, kept);
  changes.head = true;
  const figures = wanted.map((one) => `${channelName(one.channel)} ${valueWords(one.channel, one.value, one.unit)}`);
  tellBoard(state, changes, {
    change: 'background',
    ...(monitor === null ? {} : { monitor: monitor.id }),
    by,
    words: `background ${monitor === null ? 'of the site' : 'taken'}: ${figures.join(', ')}${act.override === undefined ? '' : `; against the checks, because: ${act.override}`}`,
  });
  for (const each of monitor === null ? state.monitors.values() : [monitor]) {
    changes.monitors.add(each.id);
    judgeAnew(state, changes, each);
  }
  return { status: 'done' };
}

function refused(why: Refusal): CommandAnswer {
  return { status: 'refused', ...why };
}

/** The values in canonical units, or why there are none. No override helps against what is not a background at all. */
function wantedOf(monitor: MonitorState | null, act: Act): Wanted[] | Refusal {
  const wanted: Wanted[] = [];
  if (act.take === true) {
    if (monitor === null) {
      return { code: 'take-needs-monitor', message: 'A background is read off one monitor; for the site, type it' };
    }
    for (const channel of monitor.channels.values()) {
      if (!backgroundLimit(channel.channel).taken || channel.value === null || channel.unit === null) continue;
      wanted.push({ channel: channel.channel, value: channel.value, unit: channel.unit });
    }
  }
  for (const [channel, given] of Object.entries(act.channels ?? {})) {
    const canonical = toCanonical(channel, given.value, given.unit);
    if (canonical === null) {
      return { code: 'wrong-unit', message: `${given.unit} is no unit of ${channelName(channel)}` };
    }
    if (channel === 'gamma' && !(canonical.value > 0)) {
      return { code: 'not-a-background', message: 'Ground always reads something: 0 is a blocked or dead sensor' };
    }
    const index = wanted.findIndex((one) => one.channel === channel);
    if (index >= 0) wanted.splice(index, 1);
    wanted.push({ channel, ...canonical });
  }
  if (wanted.some((one) => one.channel === 'gamma' && !(one.value > 0))) {
    return { code: 'not-a-background', message: 'Ground always reads something: 0 is a blocked or dead sensor' };
  }
  if (wanted.length === 0) return { code: 'nothing-to-take', message: 'No reading and no value to take as background' };
  return wanted;
}

function doubtOf(
  state: IncidentState,
  monitor: MonitorState | null,
  act: Act,
  wanted: readonly Wanted[],
): Refusal | null {
  for (const { channel, value, unit } of wanted) {
    const { from, to, why } = backgroundLimit(channel);
    if (compare(value, to) > 0 || compare(value, from) < 0) {
      const message = `${channelName(channel)} ${valueWords(channel, value, unit)} is outside ${from} to ${to}: ${why}`;
      return { code: compare(value, to) > 0 ? 'above-ceiling' : 'out-of-range', message };
    }
  }
  if (monitor === null) return null;
  if ((personOf(state, monitor)?.zone ?? 'cold') !== 'cold') {
    return { code: 'past-staging', message: `${monitor.entrant ?? monitor.id} is past the control line` };
  }
  const off = [...monitor.channels.values()].find(
    (channel) =>
      !wanted.some((one) => one.channel === channel.channel) &&
      (channel.overRange || channel.flag === 'under-range' || channel.phases.some((phase) => phase !== 0)),
  );
  if (off !== undefined) {
    return { code: 'off-normal', message: `${channelName(off.channel)} of ${monitor.id} is off normal` };
  }
  if (act.take !== true) return null;
  for (const { channel } of wanted) {
    const known = monitor.channels.get(channel);
    if (known === undefined || act.channels?.[channel] !== undefined) continue;
    const { standing, reasons } = cellStanding(state, monitor, known);
    if (standing !== 'good') {
      return {
        code: reasons[0]?.code === 'stale' ? 'stale' : 'in-doubt',
        message: `${channelName(channel)}: ${reasons.map((reason) => reason.words).join('; ')}`,
      };
    }
  }
  return null;
}

/** Alarms whose condition holds, and would not at the backgrounds wanted. */
function wouldSilence(state: IncidentState, scope: string, wanted: readonly Wanted[]): AlarmRecord[] {
  const found: AlarmRecord[] = [];
  for (const monitor of state.monitors.values()) {
    if (scope !== SITE && monitor.id !== scope) continue;
    for (const { channel, value: background } of wanted) {
      if (scope === SITE && state.backgrounds.get(monitor.id)?.has(channel) === true) continue;
      const known = monitor.channels.get(channel);
      if (known === undefined || known.value === null) continue;
      const now = backgroundOf(state, monitor.id, channel).value;
      for (const [i, point] of pointsOf(state.table, channel).entries()) {
        if ((known.phases[i] ?? 0) === 0) continue;
        if (!meets(point, comparedValue(point, known.value, now))) continue;
        if (meets(point, comparedValue(point, known.value, background))) continue;
        const alarm = listedAlarm(state, baseOf(monitor.id, channel, point.id));
        if (alarm !== undefined) found.push(alarm);
      }
    }
  }
  return found;
}
