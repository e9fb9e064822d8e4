import { computed, type ReadonlySignal, useComputed } from '@preact/signals';
import { useMemo } from 'preact/hooks';
import type { Cell, Link } from '../../shared/protocol/board.ts';
import type { Store } from '../feed/store.ts';
import { Age } from '../words/age.tsx';
import { type StateMark, stateMark, stateTag } from '../words/alarm-states.ts';
import { Arrow, PRIORITY_WORD, Shape } from '../words/shapes.tsx';
import { StateShape } from '../words/state-shape.tsx';
import type { ColumnFacts } from '../words/values.ts';
import { alarmAt } from './alarms-at.ts';
import { cellWords } from './cell-words.ts';
import { LiveHeadroom } from './headroom.tsx';
import { kept } from './kept.ts';
import { Spark } from './spark.tsx';
import type { SparkPoint } from './spark-path.ts';

type Props = {
  store: Store;
  monitor: string;
  zone: string;
  column: ColumnFacts;
  cell: ReadonlySignal<Cell | undefined>;
  link: Link;
  covered: boolean;
};

const SHORTEST_TRACE_S = 45;
const NO_POINTS: readonly SparkPoint[] = [];

/**
 * What moves at every packet (figures, bar and trace) apart from what seldom does (level, notes and which parts
 * there are): a packet that changes figures alone then changes a text and two attributes and builds nothing.
 */
function movingParts(column: ColumnFacts, cell: ReadonlySignal<Cell | undefined>, old: boolean) {
  const words = computed(() => (cell.value ? cellWords(column, cell.value, old) : null));
  const frame = kept(() => {
    const now = cell.value;
    const say = words.value;
    if (!now || !say) return null;
    return {
      level: now.level,
      standing: now.standing,
      size: sizeClass(say.main),
      isNumber: say.isNumber,
      unit: say.unit,
      notes: say.notes,
      trendUp: say.trend ? say.trend.up : null,
      trace: column.quietSpan !== null && now.spark !== undefined && isLongEnough(now.spark) && tells(now),
      ticks: now.headroom !== null && say.isNumber ? now.ticks : null,
    };
  });
  return {
    frame,
    main: computed(() => words.value?.main ?? ''),
    trend: computed(() => words.value?.trend?.words ?? ''),
    share: computed(() => cell.value?.headroom ?? Number.NaN),
    points: computed(() => cell.value?.spark ?? NO_POINTS),
    measuredAt: computed(() => cell.value?.measuredAt ?? ''),
  };
}

/** One reading of the worksheet. */
export function CellView({ store, monitor, zone, column, cell, link, covered }: Props) {
  const old = link !== 'live';
  const parts = useMemo(() => movingParts(column, cell, old), [column, cell, old]);
  const frame = parts.frame.value;
  if (covered) {
    return (
      <td class="cell covered">
        <span class="value" aria-hidden="true">
          –
        </span>
        <span class="unseen">not live</span>
      </td>
    );
  }
  if (!frame) {
    return (
      <td class="cell none">
        <span class="value" aria-hidden="true">
          –
        </span>
        <span class="note">no sensor</span>
      </td>
    );
  }
  const classes = ['cell', frame.level ?? '', frame.standing, old ? 'old' : '', frame.isNumber ? '' : 'wordy'];
  return (
    <td class={classes.filter((name) => name !== '').join(' ')}>
      <div class="body">
        <div class="top">
          <span class={`value ${frame.size}`}>{parts.main}</span>
          {frame.unit && <span class="unit">{frame.unit}</span>}
          {frame.trace && <Spark points={parts.points} quietSpan={canonicalSpan(column)} />}
        </div>
        {frame.ticks && <LiveHeadroom share={parts.share} ticks={frame.ticks} />}
        {frame.level && (
          <p class="note level">
            <b class="tag">
              <Shape of={frame.level} />
              {PRIORITY_WORD[frame.level]}
            </b>{' '}
            {frame.notes[0] ?? ''}
          </p>
        )}
        <AlarmState store={store} monitor={monitor} channel={column.channel} level={frame.level} zone={zone} />
        {(frame.level ? frame.notes.slice(1) : frame.notes).map((note) => (
          <p class="note" key={note}>
            {note}
          </p>
        ))}
        {frame.trendUp !== null && (
          <p class="note trend">
            <Arrow up={frame.trendUp} />
            <span class="unseen">{frame.trendUp ? 'rising ' : 'falling '}</span>
            {parts.trend}
          </p>
        )}
        {old && (
          <p class="note age">
            <Age store={store} at={parts.measuredAt} /> old
          </p>
        )}
      </div>
    </td>
  );
}

type StateProps = { store: Store; monitor: string; channel: string; level: Cell['level']; zone: string };

/**
 * Where the alarm of this cell stands; a value that is past its level says by itself that it waits. An alarm worse
 * than what the cell reads now is named, so that its state is not taken for that of the level beside it.
 */
function AlarmState({ store, monitor, channel, level, zone }: StateProps) {
  const said = useComputed(() => {
    const alarm = alarmAt(store.alarms.value, monitor, channel);
    return alarm === undefined ? '||' : `${stateMark(alarm) ?? ''}|${alarm.priority}|${stateTag(alarm, zone)}`;
  }).value;
  const [mark = '', priority = '', tag = ''] = said.split('|');
  if (tag === '') return null;
  return (
    <p class="note state">
      {isMark(mark) && <StateShape of={mark} />}
      {priority !== level && `${priority} `}
      {tag}
    </p>
  );
}

const MARKS: ReadonlySet<string> = new Set<StateMark>([
  'answered',
  'returned',
  'held',
  'shelved',
  'suppressed',
  'out-of-service',
  'escalated',
]);
const isMark = (text: string): text is StateMark => MARKS.has(text);

/** The few seconds after a first packet would be a speck that reads as a dash. */
function isLongEnough(points: NonNullable<Cell['spark']>): boolean {
  return (points[0]?.[0] ?? 0) >= SHORTEST_TRACE_S;
}

/** A trace helps beside a number, or on the way out of the range; beside "off" or "fault" it would look like news. */
function tells(cell: Cell): boolean {
  return cell.value !== null || cell.flag === 'over-range' || cell.flag === 'under-range';
}

/** Long figures and words are written smaller, so that they keep to their column. */
function sizeClass(text: string): string {
  if (/[a-z]{3}/.test(text)) return 'words';
  return text.length > 8 ? 'tiny' : text.length > 5 ? 'long' : '';
}

/** A trace is drawn from canonical values; organic vapour's column is a thousand times finer. */
function canonicalSpan(column: ColumnFacts): number {
  const span = column.quietSpan ?? 1;
  return column.channel === 'voc' ? span / 1000 : span;
}
