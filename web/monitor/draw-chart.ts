/** What a chart shows beside its line: silence as hatching, flags as words, levels as lines with their names. */
import type uPlot from 'uplot';
import type { Priority } from '../../shared/alarm/set-point.ts';
import { flagWords } from '../words/values.ts';
import type { ChartPalette } from './chart-palette.ts';
import type { Gap } from './history-data.ts';

export type ChartLevel = { readonly value: number; readonly priority: Priority; readonly words: string };
export type ChartFlag = { readonly from: number; readonly to: number; readonly flag: string };
export type ChartBack = {
  readonly gaps: readonly Gap[];
  readonly flags: readonly ChartFlag[];
  readonly levels: readonly ChartLevel[];
};

/** Width kept for the words of the levels, CSS pixels. */
export const LEVEL_WORDS_PX = 150;
const FONT = '"B612", "DejaVu Sans", sans-serif';

/** Behind the line: hatched where nothing was heard. */
export function drawSilence(chart: uPlot, back: ChartBack, palette: ChartPalette): void {
  const { ctx, bbox } = chart;
  const ratio = devicePixelRatio;
  ctx.save();
  ctx.beginPath();
  ctx.rect(bbox.left, bbox.top, bbox.width, bbox.height);
  ctx.clip();
  for (const gap of back.gaps) {
    const [left, right] = span(chart, gap.from, gap.to);
    if (right <= left) continue;
    ctx.save();
    ctx.beginPath();
    ctx.rect(left, bbox.top, right - left, bbox.height);
    ctx.clip();
    ctx.strokeStyle = palette.hatch;
    ctx.lineWidth = 3 * ratio;
    ctx.beginPath();
    const pace = 10 * ratio;
    for (let x = Math.floor((left - bbox.height) / pace) * pace; x < right; x += pace) {
      ctx.moveTo(x, bbox.top + bbox.height);
      ctx.lineTo(x + bbox.height, bbox.top);
    }
    ctx.stroke();
    ctx.restore();
    const flagged = back.flags.some((flag) => flag.from <= (gap.to ?? flag.from) && flag.to >= gap.from);
    if (!flagged) words(chart, palette, 'nothing heard', left, right, bbox.top + bbox.height - 8 * ratio);
  }
  for (const flag of back.flags) {
    const [left, right] = span(chart, flag.from, flag.to);
    ctx.fillStyle = palette.soft;
    ctx.fillRect(left, bbox.top, Math.max(3 * ratio, right - left), 4 * ratio);
    words(chart, palette, flagWords(flag.flag), left, Math.max(right, left + 110 * ratio), bbox.top + bbox.height / 2);
  }
  ctx.restore();
}

/** Over the line: the levels, danger solid and caution dashed, each with its shape and words at its right end. */
export function drawLevels(chart: uPlot, back: ChartBack, palette: ChartPalette): void {
  const { ctx, bbox } = chart;
  const ratio = devicePixelRatio;
  const right = bbox.left + bbox.width;
  let lastBottom = Number.NEGATIVE_INFINITY;
  ctx.save();
  // From the top down, so that words that would meet are pushed apart downwards.
  for (const level of [...back.levels].sort((a, b) => b.value - a.value)) {
    const y = chart.valToPos(level.value, 'y', true);
    if (y < bbox.top - 1 || y > bbox.top + bbox.height + 1) continue;
    const colour = levelColour(level.priority, palette);
    ctx.strokeStyle = colour;
    ctx.lineWidth = 2 * ratio;
    ctx.setLineDash(level.priority === 'danger' ? [] : [8 * ratio, 5 * ratio]);
    ctx.beginPath();
    ctx.moveTo(bbox.left, y);
    ctx.lineTo(right, y);
    ctx.stroke();
    ctx.setLineDash([]);
    ctx.font = `400 ${13 * ratio}px ${FONT}`;
    const lines = brokenInto(ctx, level.words, (LEVEL_WORDS_PX - 24) * ratio);
    const middle = Math.max(y, lastBottom + 9 * ratio);
    lastBottom = middle + (9 + (lines.length - 1) * 15) * ratio;
    shape(ctx, level.priority, right + 11 * ratio, middle, 5.5 * ratio);
    ctx.fillStyle = level.priority === 'caution' ? palette.caution : colour;
    ctx.fill();
    ctx.strokeStyle = colour;
    ctx.lineWidth = ratio;
    ctx.stroke();
    ctx.fillStyle = palette.ink;
    ctx.textAlign = 'left';
    ctx.textBaseline = 'middle';
    lines.forEach((line, i) => {
      ctx.fillText(line, right + 22 * ratio, middle + i * 15 * ratio);
    });
  }
  ctx.restore();
}

/** Words in as many lines as the width asks for; a single long word stays whole. */
function brokenInto(ctx: CanvasRenderingContext2D, text: string, width: number): string[] {
  const lines: string[] = [];
  for (const word of text.split(' ')) {
    const longer = lines.length === 0 ? word : `${lines.at(-1)} ${word}`;
    if (lines.length > 0 && ctx.measureText(longer).width <= width) lines[lines.length - 1] = longer;
    else lines.push(word);
  }
  return lines;
}

function levelColour(priority: Priority, palette: ChartPalette): string {
  if (priority === 'danger') return palette.danger;
  return priority === 'caution' ? palette.cautionEdge : palette.notice;
}

function shape(ctx: CanvasRenderingContext2D, priority: Priority, x: number, y: number, r: number): void {
  ctx.beginPath();
  if (priority === 'notice') ctx.arc(x, y, r, 0, Math.PI * 2);
  else {
    ctx.moveTo(x, y - r);
    ctx.lineTo(x + r, priority === 'danger' ? y + r : y);
    ctx.lineTo(priority === 'danger' ? x - r : x, y + r);
    if (priority === 'caution') ctx.lineTo(x - r, y);
  }
  ctx.closePath();
}

function span(chart: uPlot, from: number, to: number | null): readonly [number, number] {
  const { left, width } = chart.bbox;
  const at = (ms: number) => Math.min(left + width, Math.max(left, chart.valToPos(ms / 1000, 'x', true)));
  return [at(from), to === null ? left + width : at(to)];
}

function words({ ctx }: uPlot, palette: ChartPalette, text: string, left: number, right: number, bottom: number): void {
  ctx.font = `400 ${13 * devicePixelRatio}px ${FONT}`;
  const width = ctx.measureText(text).width;
  if (width + 8 > right - left) return;
  ctx.fillStyle = palette.panel;
  ctx.fillRect((left + right - width) / 2 - 4, bottom - 13 * devicePixelRatio, width + 8, 17 * devicePixelRatio);
  ctx.fillStyle = palette.ink;
  ctx.textAlign = 'center';
  ctx.textBaseline = 'alphabetic';
  ctx.fillText(text, (left + right) / 2, bottom);
}
