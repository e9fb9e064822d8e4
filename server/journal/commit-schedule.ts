/**
 * When the next commit happens. Where several callers come at a time it is held for the window, or until as many
 * wait as the last commit answered: then nobody is left to wait for. One that asks and waits is not held up at all.
 */
import { MILLISECOND, type PostTime } from '../../shared/incident/time.ts';

export type Timers = {
  setTimeout(callback: () => void, ms: number): unknown;
  clearTimeout(timer: unknown): void;
  setImmediate(callback: () => void): unknown;
};

type ScheduleOptions = {
  readonly timers: Timers;
  readonly now: () => PostTime;
  readonly windowMs: number;
  readonly commit: () => void;
};

export class CommitSchedule {
  readonly #options: ScheduleOptions;
  #due: { readonly timer: unknown; readonly atOnce: boolean } | null = null;
  #turn = 0;
  #lastCommitAt = Number.NEGATIVE_INFINITY;
  #lastCallers = 0;

  constructor(options: ScheduleOptions) {
    this.#options = options;
  }

  /**
   * Sees to it that a commit comes for the `callers` that wait: with `full`, in this turn of the event loop,
   * whatever the window says.
   */
  request(callers: number, full: boolean): void {
    const { timers, now, windowMs, commit } = this.#options;
    const complete = full || callers >= this.#lastCallers || this.#lastCallers <= 1;
    const heldMs = complete ? 0 : windowMs - (now() - this.#lastCommitAt) / MILLISECOND;
    const atOnce = heldMs <= 0;
    if (this.#due !== null && (this.#due.atOnce || !atOnce)) return;
    this.cancel();
    const turn = this.#turn;
    const run = () => {
      if (turn !== this.#turn) return;
      this.#due = null;
      commit();
    };
    this.#due = { timer: atOnce ? timers.setImmediate(run) : timers.setTimeout(run, Math.ceil(heldMs)), atOnce };
  }

  cancel(): void {
    this.#turn += 1; // an immediate cannot be taken back: it finds that its turn is over
    if (this.#due !== null && !this.#due.atOnce) this.#options.timers.clearTimeout(this.#due.timer);
    this.#due = null;
  }

  /** A commit for so many callers is done. */
  committed(callers: number): void {
    this.#lastCallers = callers;
    this.#lastCommitAt = this.#options.now();
  }
}
