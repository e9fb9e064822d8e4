/** Sends one command of staff and gives back what came of it. */
import { type CommandAnswer, type CommandRequest, commandAnswer } from '../../shared/protocol/commands.ts';
import { ask } from './post.ts';

/**
 * Asks the post to do `command`. Sent again with the same id it is done once, so a try without an answer may be
 * repeated. Where the post does not answer, nothing is known to be done: `refused` with code `no-answer`.
 */
export async function sendCommand(command: CommandRequest): Promise<CommandAnswer> {
  const answer = await ask('POST', '/api/v1/commands', command, commandAnswer);
  if (answer.ok) return answer.value;
  return { status: 'refused', code: answer.code, message: answer.message };
}
