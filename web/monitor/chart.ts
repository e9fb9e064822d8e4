/** One channel's chart. The chart library stays behind this file: make, show, destroy. */
import uPlot from 'uplot';
import 'uplot/dist/uPlot.min.css';
import { shortTime } from '../words/times.ts';
import { type ChartPalette, readChartPalette } from './chart-palette.ts';
import { type ChartBack, drawLevels, drawSilence, LEVEL_WORDS_PX } from './draw-chart.ts';

export type ChartPoint = readonly [atMs: number, value: number | null, least: number | null, greatest: number | null];
export type ChartView = ChartBack & {
  /** In the column's unit, oldest first. */
  readonly points: readonly ChartPoint[];
  readonly fromMs: number;
  readonly toMs: number;
  readonly range: readonly [number, number];
};
export type Chart = { show(view: ChartView): void; destroy(): void };
export type ChartOptions = {
  readonly zone: string;
  readonly figures: (value: number) => string;
  /** A pointer is over a reading, or left (null). */
  readonly point: (at: { readonly ms: number; readonly value: number | null } | null) => void;
};

const HEIGHT_PX = 170;
const FONT = '400 14px "B612", "DejaVu Sans", sans-serif';

/** Makes an empty chart in `host`, as wide as it is. */
export function createChart(host: HTMLElement, options: ChartOptions): Chart {
  const palette = readChartPalette(host);
  let view: ChartView | null = null;
  const chart = new uPlot(
    { ...layout(options, palette, () => view), width: Math.max(200, host.clientWidth), height: HEIGHT_PX },
    [[], [], [], []],
    host,
  );
  const sizes = new ResizeObserver(() => {
    if (host.clientWidth > 0) chart.setSize({ width: host.clientWidth, height: HEIGHT_PX });
  });
  sizes.observe(host);
  return {
    show(next) {
      view = next;
      chart.batch(() => {
        chart.setData(
          [
            next.points.map(([at]) => at / 1000),
            next.points.map((point) => point[2]),
            next.points.map((point) => point[3]),
            next.points.map((point) => point[1]),
          ],
          false,
        );
        chart.setScale('x', { min: next.fromMs / 1000, max: next.toMs / 1000 });
        chart.setScale('y', { min: next.range[0], max: next.range[1] });
      });
    },
    destroy() {
      sizes.disconnect();
      chart.destroy();
    },
  };
}

function layout(
  options: ChartOptions,
  palette: ChartPalette,
  view: () => ChartView | null,
): Omit<uPlot.Options, 'width' | 'height'> {
  const axis = { stroke: palette.soft, font: FONT, ticks: { show: false } };
  return {
    tzDate: (seconds) => uPlot.tzDate(new Date(seconds * 1000), zoneOrUtc(options.zone)),
    legend: { show: false },
    // Room at the right for the words of the levels, so that they never lie over a reading.
    padding: [10, LEVEL_WORDS_PX, 0, 0],
    cursor: { drag: { x: false, y: false }, sync: { key: 'monitor' }, points: { size: 9 }, y: false },
    scales: { x: { time: true, auto: false }, y: { auto: false } },
    axes: [
      {
        ...axis,
        size: 28,
        grid: { stroke: palette.line, width: 1 },
        values: (_chart, splits) => splits.map((seconds) => shortTime(seconds * 1000, options.zone)),
        space: 80,
        incrs: [60, 120, 300, 600, 900, 1800, 3600],
      },
      {
        ...axis,
        size: 62,
        grid: { stroke: palette.line, width: 1 },
        values: (_chart, splits) => splits.map(options.figures),
        space: 36,
      },
    ],
    series: [
      {},
      // Least and greatest of each span as a band, drawn first: the line lies over it.
      { stroke: 'transparent', width: 0, spanGaps: false, points: { show: false } },
      { stroke: 'transparent', width: 0, spanGaps: false, points: { show: false } },
      { stroke: palette.ink, width: 2, spanGaps: false, points: { show: true, size: 5, filter: alone } },
    ],
    bands: [{ series: [2, 1], fill: palette.spread }],
    hooks: {
      drawAxes: [(chart) => withView(view, (back) => drawSilence(chart, back, palette))],
      draw: [(chart) => withView(view, (back) => drawLevels(chart, back, palette))],
      setCursor: [
        (chart) => {
          const index = chart.cursor.idx;
          const point = index == null ? undefined : view()?.points[index];
          options.point(point ? { ms: point[0], value: point[1] } : null);
        },
      ],
    },
  };
}

function withView(view: () => ChartView | null, draw: (back: ChartView) => void): void {
  const now = view();
  if (now) draw(now);
}

/** A single reading between two gaps has no line: it gets a dot. */
function alone(chart: uPlot, seriesIndex: number): number[] {
  const values = chart.data[seriesIndex] ?? [];
  const found: number[] = [];
  for (let i = 0; i < values.length; i++) {
    if (values[i] != null && values[i - 1] == null && values[i + 1] == null) found.push(i);
  }
  return found;
}

function zoneOrUtc(zone: string): string {
  try {
    new Intl.DateTimeFormat('en-GB', { timeZone: zone });
    return zone;
  } catch {
    return 'UTC';
  }
}
