import type { Cell, Link } from '../../shared/protocol/board.ts';
import type { Store } from '../feed/store.ts';
import { Age } from '../words/age.tsx';
import { Arrow, PRIORITY_WORD, Shape } from '../words/shapes.tsx';
import type { ColumnFacts } from '../words/values.ts';
import { cellWords } from './cell-words.ts';
import { Headroom } from './headroom.tsx';
import { Spark } from './spark.tsx';

const SHORTEST_TRACE_S = 45;

type Props = { store: Store; column: ColumnFacts; cell: Cell | undefined; link: Link; covered: boolean };

/** One reading of the worksheet. */
export function CellView({ store, column, cell, link, covered }: Props) {
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
  if (!cell) {
    return (
      <td class="cell none">
        <span class="value" aria-hidden="true">
          –
        </span>
        <span class="note">no sensor</span>
      </td>
    );
  }
  const words = cellWords(column, cell);
  const old = link !== 'live';
  const classes = ['cell', cell.level ?? '', cell.standing, old ? 'old' : '', words.isNumber ? '' : 'wordy'];
  return (
    <td class={classes.filter((name) => name !== '').join(' ')}>
      <div class="body">
        <div class="top">
          <span class={`value ${sizeClass(words.main)}`}>{words.main}</span>
          {words.unit && <span class="unit">{words.unit}</span>}
          {column.quietSpan !== null && cell.spark && isLongEnough(cell.spark) && tells(cell) && (
            <Spark points={cell.spark} quietSpan={canonicalSpan(column)} />
          )}
        </div>
        {cell.headroom !== null && words.isNumber && <Headroom share={cell.headroom} ticks={cell.ticks} />}
        {cell.level && (
          <p class="note level">
            <b class="tag">
              <Shape of={cell.level} />
              {PRIORITY_WORD[cell.level]}
            </b>{' '}
            {words.notes[0] ?? ''}
          </p>
        )}
        {(cell.level ? words.notes.slice(1) : words.notes).map((note) => (
          <p class="note" key={note}>
            {note}
          </p>
        ))}
        {words.trend && (
          <p class="note trend">
            <Arrow up={words.trend.up} />
            <span class="unseen">{words.trend.up ? 'rising ' : 'falling '}</span>
            {words.trend.words}
          </p>
        )}
        {old && (
          <p class="note age">
            <Age store={store} at={cell.measuredAt} /> old
          </p>
        )}
      </div>
    </td>
  );
}

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
