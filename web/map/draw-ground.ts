/** The ground of the map: metric grid with its figures, edges of zones, scale bar, north mark. */
import { type Grid, type GridLine, gridStep, type LatLon, metricGrid, type View } from '../../shared/map/grid.ts';
import { toUsngSpoken } from '../../shared/map/usng.ts';
import type { Box } from './map-labels.ts';
import type { MapPalette } from './map-palette.ts';

/** Where a place lies on the canvas, CSS pixels. */
export type Project = (lat: number, lon: number) => readonly [x: number, y: number];

export type Ground = {
  readonly context: CanvasRenderingContext2D;
  readonly project: Project;
  readonly view: View;
  readonly width: number;
  readonly height: number;
  readonly metresPerPixel: number;
  readonly palette: MapPalette;
};

const FONT = '"B612", "DejaVu Sans", sans-serif';
/** Rim for the figures of the grid, CSS pixels: above, and at the left. */
export const RIM_PX = 26;
export const RIM_LEFT_PX = 44;

/** The grid of a view; `stepM` null: the view is too wide for any. */
export type StepGrid = Grid & { readonly stepM: number | null };

/** Draws what lies under the monitors, and returns the grid for `drawMargin`. */
export function drawGround(ground: Ground): StepGrid {
  const { context, palette, width, height, view } = ground;
  context.fillStyle = palette.ground;
  context.fillRect(0, 0, width, height);
  const stepM = gridStep(ground.metresPerPixel);
  const grid = stepM === null ? { lines: [], edges: [] } : metricGrid(view, stepM);
  drawLines(ground, grid);
  return { ...grid, stepM };
}

/** Draws what lies over the monitors: the figures of the grid along the rim, scale bar and north mark. */
export function drawMargin(ground: Ground, grid: Grid): void {
  drawFigures(ground, grid);
  drawSquareName(ground);
  drawScale(ground);
}

function drawLines({ context, project, palette }: Ground, grid: Grid): void {
  for (const line of grid.lines) {
    context.strokeStyle = line.major ? palette.normal : palette.line;
    // Where another 100 km square begins, the figures start again.
    context.lineWidth = line.metres % 100_000 === 0 ? 4 : line.major ? 1.5 : 1;
    trace(context, project, line.points);
  }
  context.strokeStyle = palette.soft;
  context.lineWidth = 2;
  context.setLineDash([12, 5, 2, 5]);
  for (const edge of grid.edges) trace(context, project, edge.points);
  context.setLineDash([]);
}

/** Strokes a line through places. */
export function trace(context: CanvasRenderingContext2D, project: Project, points: readonly LatLon[]): void {
  context.beginPath();
  points.forEach(([lat, lon], i) => {
    const [x, y] = project(lat, lon);
    if (i === 0) context.moveTo(x, y);
    else context.lineTo(x, y);
  });
  context.stroke();
}

/** Easting figures stand along the upper rim, northing figures along the left one. */
function drawFigures(ground: Ground, grid: Grid): void {
  const { context, palette, width, height } = ground;
  context.fillStyle = palette.ground;
  context.fillRect(0, 0, width, RIM_PX);
  context.fillRect(0, 0, RIM_LEFT_PX, height);
  context.strokeStyle = palette.normal;
  context.lineWidth = 1;
  context.strokeRect(RIM_LEFT_PX - 0.5, RIM_PX - 0.5, width, height);
  context.textBaseline = 'alphabetic';
  for (const line of grid.lines) {
    const at = line.axis === 'easting' ? crossing(ground, line, 1, RIM_PX) : crossing(ground, line, 0, RIM_LEFT_PX);
    if (at === null) continue;
    if (line.axis === 'easting' && at > RIM_LEFT_PX + 12 && at < width - 14) figure(ground, line, at, 19);
    if (line.axis === 'northing' && at > RIM_PX + 10 && at < height - 8) figure(ground, line, RIM_LEFT_PX / 2, at + 6);
  }
}

function figure({ context, palette }: Ground, line: GridLine, x: number, y: number): void {
  const { principal, small } = line.label;
  context.fillStyle = line.major ? palette.ink : palette.soft;
  context.font = `700 15px ${FONT}`;
  const large = context.measureText(principal).width;
  context.font = `400 12px ${FONT}`;
  const left = x - (large + context.measureText(small).width) / 2;
  context.textAlign = 'left';
  context.fillText(small, left + large + 1, y);
  context.font = `700 15px ${FONT}`;
  context.fillText(principal, left, y);
}

/** Where a line crosses x = `level` (axis 0) or y = `level` (axis 1): the other coordinate, or null. */
function crossing({ project }: Ground, line: GridLine, axis: 0 | 1, level: number): number | null {
  let from: readonly [number, number] | null = null;
  for (const [lat, lon] of line.points) {
    const to = project(lat, lon);
    if (from && (from[axis] - level) * (to[axis] - level) <= 0 && from[axis] !== to[axis]) {
      const share = (level - from[axis]) / (to[axis] - from[axis]);
      const other = axis === 0 ? 1 : 0;
      return from[other] + share * (to[other] - from[other]);
    }
    from = to;
  }
  return null;
}

/** Zone, band and 100 km square of the view's middle: what all the figures count within. */
function drawSquareName({ context, palette, view, width }: Ground): void {
  const name = toUsngSpoken((view.south + view.north) / 2, (view.west + view.east) / 2, 0);
  if (name === null) return;
  context.font = `700 15px ${FONT}`;
  context.textAlign = 'left';
  context.textBaseline = 'alphabetic';
  const size = context.measureText(name).width + 16;
  context.fillStyle = palette.ink;
  context.fillRect(0, 0, Math.min(width, size), RIM_PX);
  context.fillStyle = palette.ground;
  context.fillText(name, 8, 18);
}

/** Where scale bar and north mark stand. */
export function scaleBox({ height }: Ground): Box {
  return { x: RIM_LEFT_PX, y: height - 120, width: 190, height: 120 };
}

/** Scale bar in metres at the lower left, north mark above it. */
function drawScale({ context, palette, height, metresPerPixel }: Ground): void {
  const metres = roundMetres(160 * metresPerPixel);
  const length = metres / metresPerPixel;
  const [x, y] = [60, height - 20];
  context.fillStyle = palette.ground;
  context.fillRect(x - 8, y - 26, length + 16, 38);
  context.strokeStyle = palette.ink;
  context.lineWidth = 2;
  context.beginPath();
  context.moveTo(x, y - 7);
  context.lineTo(x, y + 5);
  context.lineTo(x + length, y + 5);
  context.lineTo(x + length, y - 7);
  context.moveTo(x + length / 2, y);
  context.lineTo(x + length / 2, y + 5);
  context.stroke();
  context.fillStyle = palette.ink;
  context.font = `700 14px ${FONT}`;
  context.textAlign = 'center';
  context.textBaseline = 'alphabetic';
  context.fillText(metres >= 1000 ? `${metres / 1000} km` : `${metres} m`, x + length / 2, y - 5);
  drawNorth(context, palette, x + 12, y - 74);
}

function drawNorth(context: CanvasRenderingContext2D, palette: MapPalette, x: number, y: number): void {
  context.fillStyle = palette.ground;
  context.fillRect(x - 20, y - 22, 40, 62);
  context.fillStyle = palette.ink;
  context.strokeStyle = palette.ink;
  context.lineWidth = 2;
  context.beginPath();
  context.moveTo(x, y - 18);
  context.lineTo(x + 9, y + 14);
  context.lineTo(x, y + 7);
  context.lineTo(x - 9, y + 14);
  context.closePath();
  context.stroke();
  context.beginPath();
  context.moveTo(x, y - 18);
  context.lineTo(x, y + 7);
  context.lineTo(x - 9, y + 14);
  context.closePath();
  context.fill();
  context.font = `700 14px ${FONT}`;
  context.textAlign = 'center';
  context.fillText('N', x, y + 32);
}

/** The largest 1, 2 or 5 times a power of ten that is not over `limit`. */
export function roundMetres(limit: number): number {
  const power = 10 ** Math.floor(Math.log10(limit));
  const factor = [5, 2, 1].find((one) => one * power <= limit) ?? 1;
  return factor * power;
}
