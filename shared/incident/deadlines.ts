/**
 * What will happen because time passes. The truth is the map; the heap only finds the next one fast. A deadline
 * that moves later leaves its old heap entry in place, and the entry finds its new time when it comes up: a
 * monitor heard every second costs one heap entry every ten.
 */
import type { PostTime } from './time.ts';

export type DeadlineKind =
  | 'stale'
  | 'lost'
  | 'still-pre'
  | 'still'
  | 'point-off'
  | 'point-on'
  | 'watch-off'
  | 'test-end'
  /** Of an alarm: `of` is its id. */
  | 'sound-again'
  | 'escalate'
  | 'shelf-end'
  /** Of a relay, of a person, of the post. */
  | 'relay-back'
  | 'exposure'
  | 'flood-end';

export type Deadline = {
  /** Unique; ties in time fire in the order of the key. */
  readonly key: string;
  readonly kind: DeadlineKind;
  /** Empty where it is of no monitor. */
  readonly monitor: string;
  /** What else it is of: an alarm, a relay, a person. */
  readonly of?: string;
  readonly channel?: string;
  readonly point?: string;
  at: PostTime;
};
/** `queuedAt`: time of the heap entry that stands for it; any other entry of its key is left over. */
type Queued = Deadline & { queuedAt: PostTime };

type Entry = { readonly at: PostTime; readonly key: string };
export type Deadlines = { readonly byKey: Map<string, Queued>; heap: Entry[] };

export function createDeadlines(): Deadlines {
  return { byKey: new Map(), heap: [] };
}

/** Sets or moves a deadline. */
export function setDeadline(all: Deadlines, deadline: Deadline): void {
  const had = all.byKey.get(deadline.key);
  if (had !== undefined && deadline.at >= had.at) {
    had.at = deadline.at;
    return;
  }
  all.byKey.set(deadline.key, { ...deadline, queuedAt: deadline.at });
  push(all.heap, { at: deadline.at, key: deadline.key });
}

/** Moves a deadline to a later time; false where there is none of that key, or it is later already. */
export function moveDeadline(all: Deadlines, key: string, at: PostTime): boolean {
  const had = all.byKey.get(key);
  if (had === undefined || at < had.at) return false;
  had.at = at;
  return true;
}

export function cancelDeadline(all: Deadlines, key: string): void {
  all.byKey.delete(key);
}

/** Takes the next deadline at or before `to` out, or null. */
export function takeDue(all: Deadlines, to: PostTime): Deadline | null {
  for (;;) {
    const top = all.heap[0];
    if (top === undefined || top.at > to) return null;
    pop(all.heap);
    const deadline = all.byKey.get(top.key);
    if (deadline === undefined || deadline.queuedAt !== top.at) continue; // cancelled, or another entry stands for it
    if (deadline.at > top.at) {
      deadline.queuedAt = deadline.at;
      push(all.heap, { at: deadline.at, key: top.key });
      continue;
    }
    all.byKey.delete(top.key);
    return deadline;
  }
}

/** Time of the earliest heap entry: nothing fires before it. */
export function nextDue(all: Deadlines): PostTime | null {
  return all.heap[0]?.at ?? null;
}

/** Builds the heap anew from the map, after the state was read from a file. */
export function rebuildHeap(all: Deadlines): void {
  all.heap = [];
  for (const deadline of all.byKey.values()) {
    deadline.queuedAt = deadline.at;
    push(all.heap, { at: deadline.at, key: deadline.key });
  }
}

function before(a: Entry, b: Entry): boolean {
  return a.at < b.at || (a.at === b.at && a.key < b.key);
}

function push(heap: Entry[], entry: Entry): void {
  let i = heap.push(entry) - 1;
  while (i > 0) {
    const parent = (i - 1) >> 1;
    const above = heap[parent];
    if (above === undefined || !before(entry, above)) break;
    heap[i] = above;
    i = parent;
  }
  heap[i] = entry;
}

function pop(heap: Entry[]): void {
  const last = heap.pop();
  if (last === undefined || heap.length === 0) return;
  let i = 0;
  for (;;) {
    let child = 2 * i + 1;
    const left = heap[child];
    if (left === undefined) break;
    const right = heap[child + 1];
    const least = right !== undefined && before(right, left) ? right : left;
    if (least === right) child += 1;
    if (!before(least, last)) break;
    heap[i] = least;
    i = child;
  }
  heap[i] = last;
}
