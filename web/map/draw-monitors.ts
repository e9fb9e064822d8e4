/** Monitors on the map: accuracy, track, marker and label. Shape first, colour second, words always. */
import { type Ground, RIM_LEFT_PX, RIM_PX, trace } from './draw-ground.ts';
import { type Box, type PlacedLabel, placeLabels } from './map-labels.ts';
import type { MapPalette } from './map-palette.ts';
import type { MapMark, MapPlace } from './map-scene.ts';

export type DrawnMark = {
  readonly id: string;
  readonly x: number;
  readonly y: number;
  readonly label: Box | null;
};

type Spot = { readonly mark: MapMark; readonly place: MapPlace; readonly x: number; readonly y: number };
type Label = { readonly lines: readonly string[]; readonly width: number; readonly height: number };

const FONT = '"B612", "DejaVu Sans", sans-serif';
const RADIUS_PX = 11;
/** With more monitors than this the tracks are drawn finer. */
const CROWDED = 12;
const LINE_PX = 17;

/**
 * Draws marks in the order given, the first on top, and returns where each is. `slots` keeps the labels' places
 * from one drawing to the next and is changed here.
 */
export function drawMonitors(
  ground: Ground,
  marks: readonly MapMark[],
  selected: string | null,
  slots: Map<string, number>,
  overlays: readonly Box[],
): DrawnMark[] {
  const spots = marks.flatMap((mark): Spot[] => {
    if (!mark.place) return [];
    const [x, y] = ground.project(mark.place.lat, mark.place.lon);
    return [{ mark, place: mark.place, x, y }];
  });
  const hatch = hatching(ground.context, ground.palette);
  const crowded = spots.length > CROWDED;
  for (const spot of spots) drawTrack(ground, spot, crowded, spot.mark.id === selected);
  for (const spot of spots) drawAccuracy(ground, spot);
  const seen = spots.filter(({ x, y }) => x >= RIM_LEFT_PX && y >= RIM_PX && x <= ground.width && y <= ground.height);
  // The selected one has its label before any other.
  const wishes = [...seen].sort((a, b) => Number(b.mark.id === selected) - Number(a.mark.id === selected));
  const labels = new Map(
    wishes.map(({ mark }) => {
      const brief = crowded && mark.priority === null && mark.id !== selected;
      return [mark.id, labelsOf(ground.context, mark, brief)];
    }),
  );
  const frame = {
    x: RIM_LEFT_PX + 2,
    y: RIM_PX + 2,
    width: ground.width - RIM_LEFT_PX - 4,
    height: ground.height - RIM_PX - 4,
  };
  const placed = placeLabels(
    wishes.map(({ mark, x, y }) => ({ id: mark.id, x, y, sizes: labels.get(mark.id) ?? [] })),
    [...seen.map(({ x, y }) => around(x, y)), ...overlays],
    frame,
    slots,
  );
  slots.clear();
  for (const label of placed) slots.set(label.id, label.slot);
  const boxes = new Map(placed.map((label) => [label.id, label]));
  for (const spot of seen) drawLeader(ground, spot, boxes.get(spot.mark.id));
  for (const spot of [...seen].reverse()) drawMarker(ground, spot, hatch, spot.mark.id === selected);
  for (const spot of seen) {
    const where = boxes.get(spot.mark.id);
    const label = where && labels.get(spot.mark.id)?.[where.size];
    if (label) drawLabel(ground, spot, label, where.box, hatch);
  }
  return seen.map(({ mark, x, y }) => ({ id: mark.id, x, y, label: boxes.get(mark.id)?.box ?? null }));
}

function around(x: number, y: number): Box {
  return { x: x - RADIUS_PX, y: y - RADIUS_PX, width: RADIUS_PX * 2, height: RADIUS_PX * 2 };
}

/** Slanting lines for what is old, as a repeating pattern. */
function hatching(context: CanvasRenderingContext2D, palette: MapPalette): CanvasPattern | string {
  const tile = document.createElement('canvas');
  tile.width = 8;
  tile.height = 8;
  const pen = tile.getContext('2d');
  if (!pen) return palette.ground;
  pen.fillStyle = palette.ground;
  pen.fillRect(0, 0, 8, 8);
  pen.strokeStyle = palette.hatch;
  pen.lineWidth = 2.5;
  pen.beginPath();
  for (const shift of [-8, 0, 8]) {
    pen.moveTo(shift - 1, 9);
    pen.lineTo(shift + 9, -1);
  }
  pen.stroke();
  return context.createPattern(tile, 'repeat') ?? palette.ground;
}

function isOld({ mark, place }: Spot): boolean {
  return mark.link !== 'live' || place.age !== null;
}

function drawTrack({ context, project, palette }: Ground, { place }: Spot, crowded: boolean, selected: boolean): void {
  context.strokeStyle = selected ? palette.ink : palette.normal;
  context.lineWidth = selected ? 2.5 : crowded ? 0.75 : 1.5;
  context.lineJoin = 'round';
  trace(context, project, [...place.track, [place.lat, place.lon]]);
}

function drawAccuracy({ context, palette, metresPerPixel }: Ground, { place, x, y }: Spot): void {
  const radius = place.accuracyM === null ? 0 : place.accuracyM / metresPerPixel;
  if (radius <= RADIUS_PX) return;
  context.beginPath();
  context.arc(x, y, radius, 0, Math.PI * 2);
  context.strokeStyle = palette.normal;
  context.lineWidth = 1;
  context.setLineDash([4, 4]);
  context.stroke();
  context.setLineDash([]);
}

function drawMarker({ context, palette }: Ground, spot: Spot, hatch: CanvasPattern | string, selected: boolean): void {
  const { mark, x, y } = spot;
  if (selected) {
    context.beginPath();
    context.arc(x, y, RADIUS_PX + 7, 0, Math.PI * 2);
    context.strokeStyle = palette.focus;
    context.lineWidth = 4;
    context.stroke();
  }
  outline(context, spot);
  const colour = tone(mark, palette);
  context.lineJoin = 'round';
  // A rim of the ground keeps markers apart where they overlap.
  context.strokeStyle = palette.ground;
  context.lineWidth = 6;
  context.stroke();
  context.fillStyle = isOld(spot) ? hatch : colour;
  context.fill();
  context.strokeStyle = isOld(spot) ? edge(mark, palette) : mark.priority === 'caution' ? palette.cautionEdge : colour;
  context.lineWidth = isOld(spot) ? 3 : 1.5;
  context.stroke();
}

/** Triangle for danger, diamond for caution, disc for all else. */
function outline(context: CanvasRenderingContext2D, { mark, x, y }: Spot): void {
  const r = RADIUS_PX;
  context.beginPath();
  if (mark.priority === 'danger') {
    context.moveTo(x, y - r);
    context.lineTo(x + r, y + r * 0.8);
    context.lineTo(x - r, y + r * 0.8);
  } else if (mark.priority === 'caution') {
    context.moveTo(x, y - r);
    context.lineTo(x + r, y);
    context.lineTo(x, y + r);
    context.lineTo(x - r, y);
  } else {
    context.arc(x, y, r * 0.72, 0, Math.PI * 2);
  }
  context.closePath();
}

function tone(mark: MapMark, palette: MapPalette): string {
  if (mark.priority === 'danger') return palette.danger;
  if (mark.priority === 'caution') return palette.caution;
  return mark.priority === 'notice' ? palette.notice : palette.normal;
}

function edge(mark: MapMark, palette: MapPalette): string {
  return mark.priority === 'caution' ? palette.cautionEdge : tone(mark, palette);
}

/** What a label says, then the name alone for where there is little room; in a crowd the brief one is enough. */
function labelsOf(context: CanvasRenderingContext2D, mark: MapMark, brief: boolean): Label[] {
  const old = mark.silence?.short ?? mark.place?.age ?? null;
  const lines = [mark.name];
  if (!brief) {
    if (mark.priority !== null || old === null) lines.push(mark.worstShort);
  }
  if (old !== null) lines.push(old);
  const whole = measured(context, lines);
  return lines.length === 1 ? [whole] : [whole, measured(context, [mark.name])];
}

function measured(context: CanvasRenderingContext2D, lines: readonly string[]): Label {
  const widths = lines.map((line, i) => {
    context.font = fontOf(i);
    return context.measureText(line).width;
  });
  return { lines, width: Math.ceil(Math.max(...widths)) + 12, height: lines.length * LINE_PX + 6 };
}

function fontOf(line: number): string {
  return line === 0 ? `700 15px ${FONT}` : `400 14px ${FONT}`;
}

function drawLeader({ context, palette }: Ground, { x, y }: Spot, placed: PlacedLabel | undefined): void {
  if (!placed?.leader) return;
  const { box } = placed;
  context.strokeStyle = palette.soft;
  context.lineWidth = 1.5;
  context.beginPath();
  context.moveTo(x, y);
  context.lineTo(clamp(x, box.x, box.x + box.width), clamp(y, box.y, box.y + box.height));
  context.stroke();
}

function clamp(value: number, low: number, high: number): number {
  return Math.min(Math.max(value, low), high);
}

function drawLabel(
  { context, palette }: Ground,
  spot: Spot,
  label: Label,
  box: Box,
  hatch: CanvasPattern | string,
): void {
  const { mark } = spot;
  const old = isOld(spot);
  const filled = !old && (mark.priority === 'danger' || mark.priority === 'caution');
  context.fillStyle = old ? hatch : filled ? tone(mark, palette) : palette.ground;
  context.fillRect(box.x, box.y, box.width, box.height);
  context.strokeStyle = mark.priority === null ? palette.line : edge(mark, palette);
  context.lineWidth = old && mark.priority !== null ? 3 : 1;
  context.strokeRect(box.x, box.y, box.width, box.height);
  context.textAlign = 'left';
  context.textBaseline = 'alphabetic';
  context.fillStyle = filled ? (mark.priority === 'danger' ? palette.dangerInk : palette.cautionInk) : palette.ink;
  label.lines.forEach((line, i) => {
    context.font = fontOf(i);
    context.fillText(line, box.x + 6, box.y + 16 + i * LINE_PX);
  });
}
