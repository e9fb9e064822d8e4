import type { MonitorView } from '../../shared/protocol/board.ts';

/**
 * A view with the traces and the track of the one before it where it brings none: they are sent anew every few
 * seconds alone.
 * Nothing else is ever carried over, least of all a value.
 */
export function withTraces(view: MonitorView, before: MonitorView | undefined): MonitorView {
  if (!before) return view;
  let readings: MonitorView['readings'] | null = null;
  for (const [channel, cell] of Object.entries(view.readings)) {
    const spark = before.readings[channel]?.spark;
    if (cell.spark !== undefined || spark === undefined) continue;
    readings ??= { ...view.readings };
    readings[channel] = { ...cell, spark };
  }
  const track = view.track ?? before.track;
  return { ...view, ...(readings ? { readings } : {}), ...(track ? { track } : {}) };
}
