/** Frames of the live socket as text, each made once for all screens that get it. */
import type { IncidentState } from '../../shared/incident/state.ts';
import { toIso } from '../../shared/incident/time.ts';
import { alarmView, boardHead, boardView, monitorView, type Recording } from '../../shared/incident/view.ts';
import type { AlarmView, MonitorView } from '../../shared/protocol/board.ts';
import type { LiveFrame } from '../../shared/protocol/frames.ts';
import type { ChangesListener } from '../watch/watch.ts';
import type { NumberedEvent } from './hub.ts';

export type FrameSource = {
  state(): IncidentState;
  epoch(): string;
  recording(): Recording;
  /** Wall clock label of now, ISO. */
  nowIso(): string;
  listen(listener: ChangesListener): () => void;
};

export type Touched = {
  readonly monitors: ReadonlySet<string>;
  readonly alarms: ReadonlySet<string>;
  readonly head: boolean;
};

/** `sounding`: how many screens can be heard now; nothing of it is in the record. */
export function createFrames(source: FrameSource, sounding: () => number) {
  const text = (frame: LiveFrame): string => JSON.stringify(frame);
  return {
    snapshot(): string {
      const epoch = source.epoch();
      const board = {
        ...boardView(source.state(), epoch, source.recording()),
        at: source.nowIso(),
        sounding: sounding(),
      };
      return text({ type: 'snapshot', epoch, cursor: board.cursor, at: board.at, board });
    },
    /** `withCurve`: monitors whose small curves and tracks are sent along. */
    delta(touched: Touched, withCurve: ReadonlySet<string>, skipped = 0): string {
      const state = source.state();
      const monitors: MonitorView[] = [];
      for (const id of touched.monitors) {
        const monitor = state.monitors.get(id);
        if (monitor !== undefined) monitors.push(lean(monitorView(state, monitor), withCurve.has(id)));
      }
      const alarms: AlarmView[] = [];
      const ended: string[] = [];
      for (const id of touched.alarms) {
        const alarm = state.alarms.get(id);
        if (alarm === undefined) ended.push(id);
        else alarms.push(alarmView(state, alarm));
      }
      return text({
        type: 'delta',
        cursor: state.cursor,
        at: source.nowIso(),
        monitors,
        alarms,
        ended,
        ...(touched.head ? { head: { ...boardHead(state, source.recording()), sounding: sounding() } } : {}),
        ...(skipped === 0 ? {} : { skipped }),
      });
    },
    /** `cursor`: what the screens that get it have had before it. */
    event({ number, event }: NumberedEvent, cursor: number): string {
      return text({ type: 'event', cursor, at: toIso(event.at, source.state().wallOffsetMs), number, event });
    },
    heartbeat(): string {
      return text({ type: 'heartbeat', cursor: source.state().cursor, at: source.nowIso() });
    },
    gone(reason: string): string {
      return text({ type: 'gone', reason });
    },
  };
}

function lean(view: MonitorView, withCurve: boolean): MonitorView {
  if (withCurve) return view;
  delete view.track;
  for (const cell of Object.values(view.readings)) delete cell.spark;
  return view;
}
