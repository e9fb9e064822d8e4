/** Takes an answer apart for a test: its number, or the code of its refusal. */
import type { Refusal, Spoken, Worked } from '../../shared/quantity/worked.ts';

/** The number of an answer; a refusal fails the test with its message. */
export function numberOf(answer: Worked | Spoken | Refusal): number {
  if (!answer.ok) throw new Error(`refused: ${answer.code}, ${answer.message}`);
  if (answer.value === null) throw new Error(`no number: ${answer.words}`);
  return answer.value;
}

/** The code of a refusal or of an answer in words; null where it is a number. */
export function codeOf(answer: Worked | Spoken | Refusal): string | null {
  if (!answer.ok || answer.value === null) return answer.code;
  return null;
}
