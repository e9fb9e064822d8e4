/** What waits for its commit, in the order of its times. */
import type { PostTime } from '../../shared/incident/time.ts';
import type { KnownPackets } from './known-packets.ts';
import type { Submission } from './submission.ts';

export class SubmissionQueue {
  #waiting: Submission[] = [];
  #records = 0;
  /** So many of the first are taken one by one, to find the one at fault. */
  #alone = 0;

  /** Number of submissions. */
  get size(): number {
    return this.#waiting.length;
  }

  get records(): number {
    return this.#records;
  }

  get earliest(): PostTime | null {
    return this.#waiting[0]?.times[0] ?? null;
  }

  push(submission: Submission): void {
    this.#waiting.push(submission);
    this.#records += submission.recordCount;
  }

  /** The next group: up to `most` records, but the records of one submission stay together however many they are. */
  takeGroup(most: number): Submission[] {
    let count = 0;
    let size = 0;
    for (const submission of this.#waiting) {
      const grown = count + submission.recordCount;
      if (size > 0 && (this.#alone > 0 || grown > most)) break;
      count = grown;
      size += 1;
    }
    if (this.#alone > 0) this.#alone -= 1;
    this.#records -= count;
    return this.#waiting.splice(0, size);
  }

  takeAll(): Submission[] {
    this.#records = 0;
    this.#alone = 0;
    return this.#waiting.splice(0);
  }

  /** Puts `group` in front again. */
  putBack(group: readonly Submission[]): void {
    this.#waiting = [...group, ...this.#waiting];
    this.#count();
  }

  takeAlone(count: number): void {
    this.#alone = count;
  }

  /** Judges everything anew, in order. Throws when the file cannot be asked. */
  judge(known: KnownPackets): void {
    known.forgetWaiting();
    for (const submission of this.#waiting) submission.judge(known);
    this.#count();
  }

  #count(): void {
    this.#records = this.#waiting.reduce((sum, submission) => sum + submission.recordCount, 0);
  }
}
