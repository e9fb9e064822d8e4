/** Sends one control's commands: never two at a time, each with a new id, a try without an outcome again under its own. */
import type { CommandAnswer, CommandRequest } from '../../shared/protocol/commands.ts';

type WithoutId<R> = R extends CommandRequest ? Omit<R, 'id' | 'seenCursor'> : never;
export type CommandBody = WithoutId<CommandRequest>;
export type Sender = {
  /** Null while the command before is under way: nothing is sent then. */
  send(body: CommandBody): Promise<CommandAnswer> | null;
};

/** Answered 503: the record cannot be written, and nothing was done. */
const NOT_RECORDED: ReadonlySet<string> = new Set(['full', 'read-only', 'io', 'corrupt', 'busy', 'stopped']);

/** Whether the post refused because it cannot record. */
export function isNotRecorded(answer: CommandAnswer): boolean {
  return answer.status === 'refused' && answer.code !== undefined && NOT_RECORDED.has(answer.code);
}

/** Whether nobody knows that it was done: no answer came, or one that says nothing. */
export function isUnknown(answer: CommandAnswer): boolean {
  return answer.status === 'refused' && (answer.code === 'no-answer' || answer.code === 'not-understood');
}

export function createSender(ask: (command: CommandRequest) => Promise<CommandAnswer>, makeId: () => string): Sender {
  let underWay = false;
  let unsettled: { readonly id: string; readonly text: string } | null = null;

  async function sendNow(body: CommandBody): Promise<CommandAnswer> {
    const text = JSON.stringify(body);
    // What may have been done already must not be done twice; other content is another act.
    const id = unsettled?.text === text ? unsettled.id : makeId();
    underWay = true;
    try {
      const answer = await ask({ ...body, id });
      unsettled = isUnknown(answer) || isNotRecorded(answer) ? { id, text } : null;
      return answer;
    } finally {
      underWay = false;
    }
  }

  return { send: (body) => (underWay ? null : sendNow(body)) };
}
