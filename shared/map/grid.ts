/**
 * Lines of the metric grid for what a map shows, zone by zone: at a zone's edge each grid ends on the meridian
 * where the other begins, as on a printed USNG map.
 */
import { fromUtm, toUtm, UTM_NORTH_LIMIT, UTM_SOUTH_LIMIT } from './utm.ts';

/** Degrees. `east` is greater than `west`, also across 180° (then over 180). */
export type View = {
  readonly south: number;
  readonly west: number;
  readonly north: number;
  readonly east: number;
};
export type LatLon = readonly [lat: number, lon: number];

export type GridLine = {
  readonly zone: number;
  /** The coordinate that is the same all along: an easting line runs north. */
  readonly axis: 'easting' | 'northing';
  readonly metres: number;
  /** Every line of the next wider grid is drawn stronger. */
  readonly major: boolean;
  readonly points: readonly LatLon[];
  readonly label: GridLabel;
};
/** Kilometres as two large figures, then hundreds and tens of metres as small ones: 23, or 23 and 4. */
export type GridLabel = { readonly principal: string; readonly small: string };

/** Meridian where two zones meet. */
export type ZoneEdge = { readonly west: number; readonly east: number; readonly points: readonly LatLon[] };
export type Grid = { readonly lines: readonly GridLine[]; readonly edges: readonly ZoneEdge[] };

const STEPS_M = [10, 50, 100, 500, 1000, 5000, 10_000, 50_000, 100_000] as const;
const NEXT_WIDER: Readonly<Record<number, number>> = {
  10: 100,
  50: 100,
  100: 1000,
  500: 1000,
  1000: 10_000,
  5000: 10_000,
  10000: 100_000,
  50000: 100_000,
  100000: 1_000_000,
};
/** More lines than any screen can show: the view and the step do not belong together. */
const MOST_LINES = 400;
const PIECES = 8;

/** Narrowest distance between lines, metres, that keeps them `leastPx` apart; null where even 100 km is too close. */
export function gridStep(metresPerPixel: number, leastPx = 64): number | null {
  return STEPS_M.find((step) => step / metresPerPixel >= leastPx) ?? null;
}

/** Lines every `stepM` metres and the edges of zones within the view. Nothing beyond 80° S and 84° N. */
export function metricGrid(view: View, stepM: number): Grid {
  const lines: GridLine[] = [];
  const edges: ZoneEdge[] = [];
  for (const part of zoneParts(view)) {
    lines.push(...zoneLines(part, stepM));
    if (part.box.west > view.west) {
      edges.push({
        west: part.westNeighbour,
        east: part.zone,
        points: [
          [part.box.south, part.box.west],
          [part.box.north, part.box.west],
        ],
      });
    }
  }
  return lines.length > MOST_LINES ? { lines: [], edges } : { lines, edges };
}

type ZonePart = {
  readonly zone: number;
  readonly westNeighbour: number;
  readonly box: View;
  /** Whole turns by which the view's longitudes differ from -180 to 180, degrees. */
  readonly turn: number;
};

/** Strips of latitude within which the zones' edges do not jump. */
const STRIPS = [
  [UTM_SOUTH_LIMIT, 56],
  [56, 64],
  [64, 72],
  [72, UTM_NORTH_LIMIT],
] as const;

/** The zones of a view, each cut to its own part of it. */
export function zoneParts(view: View): ZonePart[] {
  const parts: ZonePart[] = [];
  for (const [from, to] of STRIPS) {
    const south = Math.max(view.south, from);
    const north = Math.min(view.north, to);
    if (south >= north) continue;
    const first = Math.floor((view.west + 180) / 6) - 2;
    const last = Math.floor((view.east + 180) / 6) + 2;
    let westNeighbour = 0;
    for (let index = first; index <= last; index++) {
      const zone = (((index % 60) + 60) % 60) + 1;
      const extent = zoneExtent(zone, from);
      if (!extent) continue;
      const turn = Math.floor(index / 60) * 360;
      const box = {
        south,
        north,
        west: Math.max(view.west, extent[0] + turn),
        east: Math.min(view.east, extent[1] + turn),
      };
      if (box.west < box.east) parts.push({ zone, westNeighbour, box, turn });
      westNeighbour = zone;
    }
  }
  return parts;
}

/** Western and eastern edge of a zone in a strip, degrees; null where the zone does not exist. */
function zoneExtent(zone: number, stripSouth: number): readonly [number, number] | null {
  const usual = [zone * 6 - 186, zone * 6 - 180] as const;
  if (stripSouth === 56) {
    if (zone === 31) return [0, 3];
    if (zone === 32) return [3, 12];
  }
  if (stripSouth === 72) {
    const svalbard: Readonly<Record<number, readonly [number, number] | null>> = {
      31: [0, 9],
      32: null,
      33: [9, 21],
      34: null,
      35: [21, 33],
      36: null,
      37: [33, 42],
    };
    const changed = svalbard[zone];
    if (changed !== undefined) return changed;
  }
  return usual;
}

function zoneLines(part: ZonePart, stepM: number): GridLine[] {
  const { zone, box, turn } = part;
  const south = box.north <= 0;
  const reach = gridReach(part, south);
  const lines: GridLine[] = [];
  const along = (axis: 'easting' | 'northing') => {
    const [from, to] = reach[axis];
    const [low, high] = reach[axis === 'easting' ? 'northing' : 'easting'];
    for (let metres = Math.ceil(from / stepM) * stepM; metres <= to; metres += stepM) {
      if (lines.length > MOST_LINES) return;
      const raw = Array.from({ length: PIECES + 1 }, (_, i): LatLon => {
        const other = low + ((high - low) * i) / PIECES;
        const easting = axis === 'easting' ? metres : other;
        const northing = axis === 'easting' ? other : metres;
        const at = fromUtm({ zone, south, easting, northing });
        return [at.lat, at.lon + turn];
      });
      const points = clip(raw, box);
      if (points.length < 2) continue;
      lines.push({
        zone,
        axis,
        metres,
        major: metres % (NEXT_WIDER[stepM] ?? stepM * 10) === 0,
        points,
        // South of the equator within a northern grid the northing is negative: it is written as the southern one.
        label: gridLabel(axis === 'northing' && metres < 0 ? metres + 10_000_000 : metres, stepM),
      });
    }
  };
  along('easting');
  along('northing');
  return lines;
}

/** Figures beside a line, as on the margin of a printed map. */
export function gridLabel(metres: number, stepM: number): GridLabel {
  const figures = String(Math.floor(metres % 100_000)).padStart(5, '0');
  const small = stepM >= 1000 ? '' : figures.slice(2, stepM >= 100 ? 3 : 4);
  return { principal: figures.slice(0, 2), small };
}

/** Eastings and northings that a part of the view reaches, found along its rim. */
function gridReach(part: ZonePart, south: boolean) {
  const { box, zone } = part;
  const easting: [number, number] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  const northing: [number, number] = [Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (let i = 0; i <= PIECES; i++) {
    const lat = box.south + ((box.north - box.south) * i) / PIECES;
    const lon = box.west + ((box.east - box.west) * i) / PIECES;
    for (const [at, on] of [
      [lat, box.west],
      [lat, box.east],
      [box.south, lon],
      [box.north, lon],
    ] as const) {
      const place = toUtm(at, on, zone, south);
      easting[0] = Math.min(easting[0], place.easting);
      easting[1] = Math.max(easting[1], place.easting);
      northing[0] = Math.min(northing[0], place.northing);
      northing[1] = Math.max(northing[1], place.northing);
    }
  }
  return { easting, northing };
}

/** The part of a line within a box (Liang and Barsky, piece by piece); grid lines enter a box once. */
function clip(points: readonly LatLon[], box: View): LatLon[] {
  const inside: LatLon[] = [];
  points.slice(1).forEach((to, i) => {
    const from = points[i];
    const piece = from && clipPiece(from, to, box);
    if (!piece) return;
    if (inside.length === 0) inside.push(piece[0]);
    inside.push(piece[1]);
  });
  return inside;
}

function clipPiece(from: LatLon, to: LatLon, box: View): readonly [LatLon, LatLon] | null {
  const [dLat, dLon] = [to[0] - from[0], to[1] - from[1]];
  let enter = 0;
  let leave = 1;
  for (const [step, room] of [
    [-dLat, from[0] - box.south],
    [dLat, box.north - from[0]],
    [-dLon, from[1] - box.west],
    [dLon, box.east - from[1]],
  ] as const) {
    if (step === 0) {
      if (room < 0) return null;
    } else if (step < 0) enter = Math.max(enter, room / step);
    else leave = Math.min(leave, room / step);
  }
  if (enter >= leave) return null;
  const at = (share: number): LatLon => [from[0] + dLat * share, from[1] + dLon * share];
  return [at(enter), at(leave)];
}
