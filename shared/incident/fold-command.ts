/** What staff did. The answer is part of the state: two people acting at once get a clear one each. */
import type { CommandAnswer } from '../protocol/commands.ts';
import { adoptTable } from './adopt-table.ts';
import { acknowledge, reset } from './alarms.ts';
import { tellBoard } from './board-events.ts';
import type { Changes } from './changes.ts';
import { changeWearing } from './fold-exposure.ts';
import { reviewMotion } from './motion.ts';
import { holderOf } from './people.ts';
import { changeService, liftProtected, reviewTest, shelve, unshelve } from './put-aside.ts';
import type { StaffAct } from './records.ts';
import { reviewRelay } from './relay-lost.ts';
import type { AlarmRecord, IncidentState, PersonState } from './state.ts';
import { takeBackground } from './take-background.ts';
import { reviewBare, reviewSilence, reviewUnheard, reviewWatch } from './watch.ts';

const MOST_ANSWERS = 10_000;

/** Folds a command once; the same id again changes nothing. */
export function foldCommand(
  state: IncidentState,
  changes: Changes,
  command: { id: string; by: string; act: StaffAct },
): void {
  if (state.answers.has(command.id)) return;
  const answer: CommandAnswer = {
    ...carryOut(state, changes, command.by, command.act),
    cursor: state.cursor,
  };
  state.answers.set(command.id, answer);
  if (state.answers.size > MOST_ANSWERS) {
    for (const id of state.answers.keys()) {
      state.answers.delete(id);
      break;
    }
  }
}

function carryOut(state: IncidentState, changes: Changes, by: string, act: StaffAct): CommandAnswer {
  switch (act.type) {
    case 'acknowledge':
      return acknowledge(state, changes, { by, at: state.now }, act);
    case 'reset':
      return reset(state, changes, by, act, (alarm) => contradict(state, alarm));
    case 'assign':
      return assign(state, changes, by, act);
    case 'entry':
      return moveTo(state, changes, by, act);
    case 'note':
      tellBoard(state, changes, { change: 'note', by, words: act.text });
      return { status: 'done' };
    case 'set-points-adopt':
      return adoptTable(state, changes, by, act.table);
    case 'background':
      return takeBackground(state, changes, by, act);
    case 'shelve':
      return shelve(state, changes, by, act);
    case 'unshelve':
      return unshelve(state, changes, by, act.alarm);
    case 'out-of-service':
      return changeService(state, changes, by, act);
  }
}

/** An officer says that a call or an over-range is over although nothing was heard: the next packet may call again. */
function contradict(state: IncidentState, alarm: AlarmRecord): void {
  const monitor = state.monitors.get(alarm.monitor);
  if (monitor === undefined) return;
  if (alarm.kind === 'help') {
    monitor.help = false;
    monitor.lateHelp = false;
  } else if (alarm.kind === 'down') {
    if (monitor.motion === 'down') monitor.motion = null;
    monitor.lateDown = false;
  } else if (alarm.kind === 'over-range') {
    const channel = monitor.channels.get(alarm.sensor ?? '');
    if (channel !== undefined) channel.overRange = false;
  }
}

/** Hands a monitor to a wearer or a place. One wearer has one monitor, one monitor one wearer: the last word counts. */
function assign(
  state: IncidentState,
  changes: Changes,
  by: string,
  act: Extract<StaffAct, { type: 'assign' }>,
): CommandAnswer {
  const before = holderOf(state, act.monitor)?.name ?? null;
  if (before !== null) release(state, changes, before);
  changes.head = true;
  if (act.entrant === null) {
    tellBoard(state, changes, {
      change: 'assigned',
      monitor: act.monitor,
      by,
      words: before === null ? 'handed back' : `handed back by ${before}`,
    });
    review(state, changes, act.monitor);
    if (before !== null) reviewBare(state, changes, before);
    return { status: 'done' };
  }
  const person: PersonState = state.people.get(act.entrant) ?? {
    name: act.entrant,
    team: null,
    role: null,
    monitor: null,
    zone: 'cold',
    worn: [],
    exposure: null,
  };
  if (person.monitor !== null && person.monitor !== act.monitor) {
    const other = person.monitor;
    release(state, changes, act.entrant);
    review(state, changes, other);
  }
  person.monitor = act.monitor;
  changeWearing(state, person, act.monitor);
  if (act.team !== undefined) person.team = act.team;
  if (act.role !== undefined) person.role = act.role;
  state.people.set(act.entrant, person);
  const monitor = state.monitors.get(act.monitor);
  if (monitor !== undefined) monitor.entrant = act.entrant;
  tellBoard(state, changes, {
    change: 'assigned',
    monitor: act.monitor,
    by,
    to: act.entrant,
    words: `handed to ${act.entrant}`,
  });
  review(state, changes, act.monitor);
  if (before !== null && before !== act.entrant) reviewBare(state, changes, before);
  reviewBare(state, changes, act.entrant);
  return { status: 'done' };
}

function release(state: IncidentState, changes: Changes, entrant: string): void {
  const person = state.people.get(entrant);
  if (person === undefined || person.monitor === null) return;
  const monitor = state.monitors.get(person.monitor);
  person.monitor = null;
  changeWearing(state, person, null);
  if (monitor === undefined) return;
  monitor.entrant = null;
  changes.monitors.add(monitor.id);
}

function moveTo(
  state: IncidentState,
  changes: Changes,
  by: string,
  act: Extract<StaffAct, { type: 'entry' }>,
): CommandAnswer {
  const person = state.people.get(act.entrant);
  if (person === undefined) {
    return {
      status: 'refused',
      code: 'no-such-entrant',
      message: `${act.entrant} has no monitor and no team yet: assign one first`,
    };
  }
  person.zone = act.zone;
  changes.head = true;
  tellBoard(state, changes, {
    change: 'zone',
    ...(person.monitor === null ? {} : { monitor: person.monitor }),
    by,
    to: act.zone,
    words: `${act.entrant}: ${act.zone} zone`,
  });
  if (person.monitor !== null) review(state, changes, person.monitor);
  reviewBare(state, changes, person.name);
  liftProtected(state, changes);
  return { status: 'done' };
}

/** Who wears it, and where, decides what silence, stillness and blind sensors mean. */
function review(state: IncidentState, changes: Changes, id: string): void {
  const monitor = state.monitors.get(id);
  if (monitor === undefined) {
    reviewUnheard(state, changes, id);
    liftProtected(state, changes);
    return;
  }
  changes.monitors.add(id);
  reviewSilence(state, changes, monitor);
  reviewMotion(state, changes, monitor);
  reviewWatch(state, changes, monitor);
  reviewTest(state, changes, monitor);
  reviewRelay(state, changes, monitor.relay);
  liftProtected(state, changes);
}
