/** What has to be said once recording begins again: the time that is missing, and how the wall clock moved in it. */
import type { RecordBody } from '../../shared/incident/records.ts';
import type { PostTime } from '../../shared/incident/time.ts';
import type { TimedRecord } from './journal.ts';

type Gap = Extract<RecordBody, { kind: 'gap' }>;
type ClockStep = Extract<RecordBody, { kind: 'clock' }>;

/** Since when, and how sure that is. */
export type MissingTime = Pick<Gap, 'from' | 'judgedBy'>;

/** From the surest to the least sure. */
const JUDGED_BY = ['steady-clock', 'boot-clock', 'wall-clock', 'unknown'] as const;

export class MissedTime {
  #gap: MissingTime;
  #step: ClockStep | null = null;

  constructor(gap: MissingTime) {
    this.#gap = gap;
  }

  /** Takes in what was offered and could not be written: a gap in it belongs to the missing time, too. */
  note(records: readonly TimedRecord[]): void {
    for (const record of records) {
      if (record.kind === 'gap') {
        const surer = JUDGED_BY.indexOf(record.judgedBy) < JUDGED_BY.indexOf(this.#gap.judgedBy);
        const judgedBy = surer ? this.#gap.judgedBy : record.judgedBy;
        this.#gap = { from: Math.min(this.#gap.from, record.from), judgedBy };
      } else if (record.kind === 'clock') {
        const { wallOffsetAfterMs } = record;
        const wallOffsetBeforeMs = this.#step?.wallOffsetBeforeMs ?? record.wallOffsetBeforeMs;
        this.#step = { kind: 'clock', wallOffsetBeforeMs, wallOffsetAfterMs };
      }
    }
  }

  /** The first records of the time after, each with a fresh time. */
  records(stamp: () => PostTime): TimedRecord[] {
    const gap: TimedRecord = { kind: 'gap', cause: 'not-recording', ...this.#gap, at: stamp() };
    return this.#step === null ? [gap] : [gap, { ...this.#step, at: stamp() }];
  }
}
