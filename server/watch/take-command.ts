/** Carries out what staff ask: once per id, answered when it is on disk and folded. */

import type { StaffAct } from '../../shared/incident/records.ts';
import type { CommandAnswer, CommandRequest } from '../../shared/protocol/commands.ts';
import type { Identity } from '../access/identity.ts';
import type { Watch } from './watch.ts';

export type IncidentOrders = {
  open(request: {
    name: string;
    exercise: boolean;
    zone?: string | undefined;
    by: string;
    why?: string | undefined;
    command?: string | undefined;
  }): Promise<CommandAnswer>;
  close(request: { by: string; why?: string | undefined; command?: string | undefined }): Promise<CommandAnswer>;
};

export type TakeCommand = (who: Identity, request: CommandRequest) => Promise<CommandAnswer>;

export function createTakeCommand(watch: Watch, desk: IncidentOrders): TakeCommand {
  /** Commands under way and the last ones of the desk, by id: a repeat waits for the first one's answer. */
  const underWay = new Map<string, Promise<CommandAnswer>>();
  const KEPT = 1_000;

  async function carryOut(who: Identity, request: CommandRequest): Promise<CommandAnswer> {
    switch (request.type) {
      case 'incident-open':
        return desk.open({
          name: request.name,
          exercise: request.exercise === true,
          zone: request.zone,
          by: who.name,
          command: request.id,
        });
      case 'incident-close':
        return desk.close({ by: who.name, why: request.why, command: request.id });
      default:
        return recordAct(who, request.id, actOf(request, watch.state().cursor));
    }
  }

  async function recordAct(who: Identity, id: string, act: StaffAct): Promise<CommandAnswer> {
    await watch.record([{ kind: 'command', id, by: who.name, role: who.role, act }]);
    const answer = watch.state().answers.get(id);
    if (answer === undefined) throw new Error('a command was folded without an answer');
    return answer;
  }

  return (who, request) => {
    // An answer that is only in memory was never given: the command is offered again, and refused until it can be kept.
    const known = watch.isRecording() ? watch.state().answers.get(request.id) : undefined;
    if (known !== undefined) return Promise.resolve(known);
    const waiting = underWay.get(request.id);
    if (waiting !== undefined) return waiting;
    const answer = carryOut(who, request);
    underWay.set(request.id, answer);
    answer.catch(() => underWay.delete(request.id)); // what was not recorded may be sent again
    if (underWay.size > KEPT) for (const id of underWay.keys()) return underWay.delete(id) ? answer : answer;
    return answer;
  };
}

function actOf(
  request: Exclude<CommandRequest, { type: 'incident-open' | 'incident-close' }>,
  cursor: number,
): StaffAct {
  switch (request.type) {
    case 'acknowledge': {
      const { alarm, occurrence, decision } = request;
      const seenCursor = request.seenCursor ?? cursor;
      return {
        type: 'acknowledge',
        alarm,
        occurrence,
        seenCursor,
        ...(decision === undefined || decision === '' ? {} : { decision }),
      };
    }
    case 'reset':
      return {
        type: 'reset',
        alarm: request.alarm,
        ...(request.reason === undefined ? {} : { reason: request.reason }),
      };
    case 'assign': {
      const { monitor, entrant, team, role } = request;
      return {
        type: 'assign',
        monitor,
        entrant,
        ...(team === undefined ? {} : { team }),
        ...(role === undefined ? {} : { role }),
      };
    }
    case 'entry':
      return { type: 'entry', entrant: request.entrant, zone: request.zone };
    case 'note':
      return { type: 'note', text: request.text };
    case 'set-points-adopt':
      return withoutCommon(request);
    case 'background':
      return withoutCommon(request);
    case 'shelve':
      return withoutCommon(request);
    case 'unshelve':
      return withoutCommon(request);
    case 'out-of-service':
      return withoutCommon(request);
  }
}

/** What was asked, without what belongs to the asking. */
function withoutCommon<T extends { id: string; seenCursor?: number | undefined }>(
  request: T,
): Omit<T, 'id' | 'seenCursor'> {
  const { id: _, seenCursor: __, ...act } = request;
  return act;
}
