/** What came of something asked of the post, in words that say whether anything was done. */
import type { CommandAnswer } from '../../shared/protocol/commands.ts';
import { clockTime } from '../words/times.ts';
import { isNotRecorded, isUnknown } from './sender.ts';

export type Outcome = { readonly level: 'plain' | 'caution' | 'danger'; readonly words: string };

/** `done`: what to say when it was done. Times are shown in `zone`. */
export function outcomeWords(answer: CommandAnswer, done: string, zone: string): Outcome {
  switch (answer.status) {
    case 'done':
      return { level: 'plain', words: `Done and recorded: ${done}` };
    case 'already': {
      const who = answer.by === undefined ? '' : ` by ${answer.by}`;
      const when = answer.at === undefined ? '' : `, ${clockTime(answer.at, zone)}`;
      return { level: 'plain', words: `It was done already${who}${when}.` };
    }
    case 'changed':
      return { level: 'caution', words: 'It changed since you saw it: look again. Nothing was done.' };
    case 'refused':
      return { level: isNotRecorded(answer) ? 'danger' : 'caution', words: refusedWords(answer) };
  }
}

function refusedWords(answer: CommandAnswer): string {
  if (isUnknown(answer)) {
    const why = answer.code === 'no-answer' ? 'The post did not answer' : 'The answer was not understood';
    return `${why}: not known to be done. Send it again as it is: it will not be done twice.`;
  }
  const reason = sentence(answer.message ?? answer.code ?? 'refused');
  if (isNotRecorded(answer)) return `Not recorded and not done. ${reason} Send it again when the post records.`;
  if (answer.code === 'unauthenticated') return `Not done: ${reason} Log in again.`;
  return `Not done: ${reason}`;
}

function sentence(words: string): string {
  return /[.!?]$/.test(words) ? words : `${words}.`;
}
