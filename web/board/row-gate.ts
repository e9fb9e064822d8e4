/**
 * Which rows are drawn at once and which may wait a little: a row out of sight, with nothing new that somebody must
 * know, is brought up to date within the second, together with others. What a screen reader or a search finds there
 * is then never older than that; what can be seen is never late.
 */
import { batch, effect, type ReadonlySignal, type Signal, signal } from '@preact/signals';
import type { MonitorView } from '../../shared/protocol/board.ts';
import type { Store } from '../feed/store.ts';

export type RowGate = {
  /** What the row of `id` shows now; the same signal at every call. */
  shown(id: string): ReadonlySignal<MonitorView | undefined>;
  /** Watches whether `row` can be seen; returns how to stop. */
  watch(row: Element, id: string): () => void;
  stop(): void;
};

/** With no frame to share, those that wait are drawn after this long. */
const EVERY_MS = 250;
const MOST_AT_ONCE = 50;
/** As many may come along with rows that are drawn anyway. */
const MOST_ALONG = 15;
/** A little more than what is seen, so that a row is up to date when it scrolls in. */
const MARGIN = '80px';

/** True where the news is more than other figures: such a row never waits. */
function isUrgent(next: MonitorView | undefined, before: MonitorView | undefined): boolean {
  if (next === undefined || before === undefined) return true;
  const { status } = next;
  if (status.motion !== before.status.motion || status.help !== before.status.help) return true;
  if (next.link !== before.link || next.zone !== before.zone || next.entrant !== before.entrant) return true;
  return Object.entries(next.readings).some(([channel, cell]) => cell.level !== before.readings[channel]?.level);
}

export function createRowGate(store: Store): RowGate {
  const rows = new Map<string, { readonly shown: Signal<MonitorView | undefined>; readonly stop: () => void }>();
  const idOf = new Map<Element, string>();
  const inView = new Set<string>();
  /** Oldest first. */
  const waiting = new Set<string>();
  let timer: ReturnType<typeof setTimeout> | undefined;
  let sharing = false;

  function draw(id: string): void {
    waiting.delete(id);
    const row = rows.get(id);
    if (row) row.shown.value = store.monitor(id).peek();
  }

  function drawSome(most: number): void {
    batch(() => {
      for (const id of [...waiting].slice(0, most)) draw(id);
    });
  }

  /** A frame is made for rows in sight: it costs little more to bring others along. */
  function shareFrame(): void {
    if (sharing) return;
    sharing = true;
    queueMicrotask(() => {
      sharing = false;
      drawSome(MOST_ALONG);
    });
  }

  function drawLater(): void {
    timer ??= setTimeout(() => {
      timer = undefined;
      if (waiting.size > 0) drawSome(MOST_AT_ONCE);
      if (waiting.size > 0) drawLater();
    }, EVERY_MS);
  }

  const observer = new IntersectionObserver(
    (entries) =>
      batch(() => {
        for (const { target, isIntersecting } of entries) {
          const id = idOf.get(target);
          if (id === undefined) continue;
          if (!isIntersecting) inView.delete(id);
          else {
            inView.add(id);
            draw(id);
          }
        }
      }),
    // The rows scroll in a frame of their own: browsers that know only the margin of the window do without one.
    { rootMargin: MARGIN, ...{ scrollMargin: MARGIN } },
  );

  // Paper shows all rows.
  const beforePrint = () => drawSome(Number.POSITIVE_INFINITY);
  window.addEventListener('beforeprint', beforePrint);

  return {
    shown(id) {
      const known = rows.get(id);
      if (known) return known.shown;
      const shown = signal(store.monitor(id).peek());
      const stop = effect(() => {
        const next = store.monitor(id).value;
        const before = shown.peek();
        if (next === before) return;
        if (inView.has(id) || isUrgent(next, before)) {
          waiting.delete(id);
          shown.value = next;
          shareFrame();
          return;
        }
        waiting.add(id);
        drawLater();
      });
      rows.set(id, { shown, stop });
      return shown;
    },
    watch(row, id) {
      idOf.set(row, id);
      observer.observe(row);
      return () => {
        observer.unobserve(row);
        idOf.delete(row);
        inView.delete(id);
      };
    },
    stop() {
      observer.disconnect();
      clearTimeout(timer);
      window.removeEventListener('beforeprint', beforePrint);
      for (const row of rows.values()) row.stop();
    },
  };
}
