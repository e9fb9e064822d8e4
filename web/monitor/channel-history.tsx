/** One channel of one monitor: what it reads now, its chart, and the chart in words. */
import { useSignal } from '@preact/signals';
import { useEffect, useRef } from 'preact/hooks';
import type { Cell, Link } from '../../shared/protocol/board.ts';
import type { HistoryChannel, HistoryPoint } from '../../shared/protocol/history.ts';
import { cellWords } from '../board/cell-words.ts';
import { Headroom } from '../board/headroom.tsx';
import type { Store } from '../feed/store.ts';
import { Age } from '../words/age.tsx';
import { Arrow, PRIORITY_WORD, Shape } from '../words/shapes.tsx';
import { ageWords, clockTime } from '../words/times.ts';
import { columnFacts, columnUnit, figures, inColumnUnit } from '../words/values.ts';
import { type Chart, createChart } from './chart.ts';
import { type Gap, gapsOf, pointsSince, summarize, valueRange } from './history-data.ts';
import { Scroll } from './scroll.tsx';

type Props = {
  readonly store: Store;
  readonly channel: string;
  readonly cell: Cell | undefined;
  readonly link: Link;
  readonly covered: boolean;
  readonly history: HistoryChannel | undefined;
  readonly minutes: number;
  readonly staleMs: number;
  readonly zone: string;
};

/** Rows of a chart's table: as many as one reads, newest first. */
const TABLE_ROWS = 60;

export function ChannelHistory(props: Props) {
  const facts = columnFacts(props.channel);
  return (
    <section class="channel" aria-label={facts.name}>
      <Now {...props} />
      {props.history ? <Past {...props} history={props.history} /> : <div class="channel-past" />}
    </section>
  );
}

function Now({ store, channel, cell, link, covered }: Props) {
  const facts = columnFacts(channel);
  const head = <h3>{facts.name}</h3>;
  if (covered || !cell) {
    return (
      <div class="channel-now">
        {head}
        <p>{covered ? 'not known now' : 'no reading yet'}</p>
      </div>
    );
  }
  const words = cellWords(facts, cell);
  const old = link !== 'live';
  return (
    <div class={`channel-now ${cell.level ?? ''} ${cell.standing}${old ? ' old' : ''}`}>
      {head}
      <p class={words.isNumber ? 'channel-value' : 'channel-value wordy'}>
        <b>{words.main}</b> {words.unit}
      </p>
      {cell.headroom !== null && words.isNumber && <Headroom share={cell.headroom} ticks={cell.ticks} />}
      {cell.level && (
        <p>
          <Shape of={cell.level} />
          <b>{PRIORITY_WORD[cell.level]}</b>
        </p>
      )}
      {words.notes.map((note) => (
        <p key={note}>{note}</p>
      ))}
      {cell.standing !== 'good' && cell.reasons.length === 0 && <p>{cell.standing}</p>}
      {words.trend && (
        <p>
          <Arrow up={words.trend.up} />
          {words.trend.up ? 'rising' : 'falling'} {words.trend.words}
        </p>
      )}
      {old && (
        <p class="channel-age">
          <Age store={store} at={cell.measuredAt} /> old
        </p>
      )}
    </div>
  );
}

function Past({ store, channel, history, minutes, staleMs, zone }: Props & { history: HistoryChannel }) {
  const host = useRef<HTMLDivElement>(null);
  const chart = useRef<Chart | null>(null);
  const pointed = useSignal<{ ms: number; value: number | null } | null>(null);
  const facts = columnFacts(channel);
  const nowMs = store.nowMs.value;
  const fromMs = nowMs - minutes * 60_000;
  const unit = history.unit === null ? columnUnit(channel) : inColumnUnit(channel, 0, history.unit).unit;
  const points = pointsSince(history.points, fromMs).map((point) => inUnit(history, point));
  const levels = history.levels.map((level) => ({ ...level, value: shown(history, level.value) }));
  const gaps = gapsOf(points, nowMs, staleMs);
  const summary = summarize(points.filter(([at]) => at >= fromMs));
  const write = (value: number) => figures(value, facts.decimals);

  useEffect(() => {
    if (!host.current) return;
    const made = createChart(host.current, {
      zone,
      figures: (value) => figures(value, facts.decimals),
      point: (at) => {
        pointed.value = at;
      },
    });
    chart.current = made;
    return () => {
      chart.current = null;
      made.destroy();
    };
  }, [zone, facts.decimals, pointed]);

  useEffect(() => {
    const range = valueRange(summary, levels, facts.quietSpan ?? 1);
    chart.current?.show({ points, gaps, flags: history.flags, levels, fromMs, toMs: nowMs, range });
  });

  const at = pointed.value;
  return (
    <div class="channel-past">
      <div class="channel-chart" aria-hidden="true">
        <div ref={host} />
        {at !== null && (
          <p class="channel-pointed">
            {clockTime(at.ms, zone)} <b>{at.value === null ? 'no number' : `${write(at.value)} ${unit}`}</b>
          </p>
        )}
      </div>
      <p class="channel-summary">
        {summary === null ? (
          <span>No reading in this time.</span>
        ) : (
          <>
            <Fact name="least" words={`${write(summary.least.value)} at ${clockTime(summary.least.at, zone)}`} />
            <Fact
              name="greatest"
              words={`${write(summary.greatest.value)} at ${clockTime(summary.greatest.at, zone)}`}
            />
            <Fact name="last" words={`${write(summary.last.value)} ${unit} at ${clockTime(summary.last.at, zone)}`} />
            <Fact name="points" words={String(summary.count)} />
          </>
        )}
        <Fact name="gaps" words={gapWords(gaps, fromMs, nowMs)} />
        {levels.length > 0 && (
          <Fact name="levels" words={[...new Set(levels.map((level) => level.words))].join(', ')} />
        )}
      </p>
      <PointsTable name={facts.name} points={points} unit={unit} write={write} zone={zone} />
    </div>
  );
}

function Fact({ name, words }: { name: string; words: string }) {
  return (
    <span>
      <span class="soft">{name}</span> {words}
    </span>
  );
}

type TableProps = {
  readonly name: string;
  readonly points: readonly HistoryPoint[];
  readonly unit: string;
  readonly write: (value: number) => string;
  readonly zone: string;
};

function PointsTable({ name, points, unit, write, zone }: TableProps) {
  const open = useSignal(false);
  const cell = (value: number | null) => (value === null ? '–' : write(value));
  return (
    <details
      class="channel-table"
      onToggle={(event) => {
        open.value = event.currentTarget.open;
      }}
    >
      <summary>{name} as a table</summary>
      {open.value && (
        <Scroll label={`${name}, newest readings`}>
          <table>
            <thead>
              <tr>
                <th scope="col">time</th>
                <th scope="col">{unit}</th>
                <th scope="col">least</th>
                <th scope="col">greatest</th>
              </tr>
            </thead>
            <tbody>
              {points
                .slice(-TABLE_ROWS)
                .reverse()
                .map(([at, value, least, greatest]) => (
                  <tr key={at}>
                    <td>{clockTime(at, zone)}</td>
                    <td>{value === null ? 'no number' : write(value)}</td>
                    <td>{cell(least)}</td>
                    <td>{cell(greatest)}</td>
                  </tr>
                ))}
            </tbody>
          </table>
        </Scroll>
      )}
    </details>
  );
}

/** "none", or how many times without a number there were and how long together. */
function gapWords(gaps: readonly Gap[], fromMs: number, nowMs: number): string {
  const seen = gaps.filter((gap) => (gap.to ?? nowMs) > fromMs);
  if (seen.length === 0) return 'none';
  const ms = seen.reduce((sum, gap) => sum + (gap.to ?? nowMs) - Math.max(gap.from, fromMs), 0);
  const lasting = seen.some((gap) => gap.to === null) ? ', not ended' : '';
  return `${seen.length}, ${ageWords(Math.round(ms / 1000))} in all${lasting}`;
}

function inUnit(history: HistoryChannel, [at, ...values]: HistoryPoint): HistoryPoint {
  const [value, least, greatest] = values.map((one) => (one === null ? null : shown(history, one)));
  return [at, value ?? null, least ?? null, greatest ?? null];
}

function shown(history: HistoryChannel, value: number): number {
  return inColumnUnit(history.channel, value, history.unit ?? '').value;
}
