/**
 * United States National Grid references (FGDC-STD-011-2001; the same squares as MGRS on WGS 84).
 * Digits are cut off, never rounded: a reference names the square that holds the point, by its south-west corner.
 * Letters and grid come from the same arithmetic as the lines on the map, so that the two cannot disagree.
 */
import { fromUtm, toUtm, UTM_NORTH_LIMIT, UTM_SOUTH_LIMIT, type Utm } from './utm.ts';

/** Digits of each coordinate: 0 names a 100 km square, 5 a square of 1 m. */
export type UsngDigits = 0 | 1 | 2 | 3 | 4 | 5;

export type UsngErrorCode =
  | 'form' // not zone, band, square and digits
  | 'zone' // zone is not 1 to 60, or does not exist in that band
  | 'letter' // I or O, or a letter that this zone or band does not have
  | 'digits-odd'
  | 'digits-many';

export type UsngSquare = {
  readonly ok: true;
  /** Centre of the square, degrees. */
  readonly lat: number;
  readonly lon: number;
  /** Side of the square, metres. */
  readonly sizeM: number;
  /** The corner that the reference names. */
  readonly southWest: Utm;
};
export type UsngResult = UsngSquare | { readonly ok: false; readonly code: UsngErrorCode };

const BANDS = 'CDEFGHJKLMNPQRSTUVWX';
const COLUMNS = ['ABCDEFGH', 'JKLMNPQR', 'STUVWXYZ'] as const;
const ROWS = 'ABCDEFGHJKLMNPQRSTUV';
const SQUARE_M = 100_000;
const ROW_CYCLE_M = 2_000_000;

/**
 * Reference of a point in degrees with 0 to 5 digits a coordinate, without spaces: "18SUJ2348306479".
 * Null for a point that is not a number or lies beyond 80° S or 84° N, where the grid ends.
 */
export function toUsng(lat: number, lon: number, digits: UsngDigits = 5): string | null {
  const parts = usngParts(lat, lon, digits);
  return parts === null ? null : parts.join('');
}

/** The same in groups, as it is read aloud: "18S UJ 23483 06479". */
export function toUsngSpoken(lat: number, lon: number, digits: UsngDigits = 5): string | null {
  const parts = usngParts(lat, lon, digits);
  return parts === null ? null : parts.filter((part) => part !== '').join(' ');
}

function usngParts(lat: number, lon: number, digits: UsngDigits): string[] | null {
  if (!Number.isFinite(lat) || !Number.isFinite(lon)) return null;
  if (lat < UTM_SOUTH_LIMIT || lat > UTM_NORTH_LIMIT) return null;
  const { zone, easting, northing } = toUtm(lat, lon);
  const band = BANDS[Math.min(19, Math.floor((lat - UTM_SOUTH_LIMIT) / 8))] ?? 'X';
  const column = COLUMNS[(zone - 1) % 3]?.[Math.floor(easting / SQUARE_M) - 1];
  const row = ROWS[(Math.floor(northing / SQUARE_M) + rowShift(zone)) % ROWS.length];
  if (column === undefined || row === undefined) return null;
  return [`${zone}${band}`, `${column}${row}`, cut(easting, digits), cut(northing, digits)];
}

/**
 * The square that a reference names; spaces and small letters are allowed, an odd number of digits and the
 * letters I and O are not. A square on a zone's edge is returned whole, although the neighbour's grid cuts it.
 */
export function fromUsng(text: string): UsngResult {
  const match = /^(\d{1,2})([A-Z])([A-Z])([A-Z])(\d*)$/.exec(text.toUpperCase().replace(/\s+/g, ''));
  if (!match) return { ok: false, code: 'form' };
  const [, zoneText = '', band = '', columnLetter = '', rowLetter = '', figures = ''] = match;
  const zone = Number(zoneText);
  if (zone < 1 || zone > 60) return { ok: false, code: 'zone' };
  const bandIndex = BANDS.indexOf(band);
  const column = COLUMNS[(zone - 1) % 3]?.indexOf(columnLetter) ?? -1;
  const row = ROWS.indexOf(rowLetter);
  if (bandIndex < 0 || column < 0 || row < 0) return { ok: false, code: 'letter' };
  if (band === 'X' && (zone === 32 || zone === 34 || zone === 36)) return { ok: false, code: 'zone' };
  if (figures.length % 2 !== 0) return { ok: false, code: 'digits-odd' };
  if (figures.length > 10) return { ok: false, code: 'digits-many' };

  const south = band < 'N';
  const bandSouth = UTM_SOUTH_LIMIT + bandIndex * 8;
  const rowM = ((row - rowShift(zone) + ROWS.length) % ROWS.length) * SQUARE_M;
  const base = northingInBand(rowM, bandSouth, band === 'X' ? UTM_NORTH_LIMIT : bandSouth + 8, zone, south);
  if (base === null) return { ok: false, code: 'letter' };

  const half = figures.length / 2;
  const sizeM = SQUARE_M / 10 ** half;
  const southWest: Utm = {
    zone,
    south,
    easting: (column + 1) * SQUARE_M + Number(figures.slice(0, half)) * sizeM,
    northing: base + Number(figures.slice(half)) * sizeM,
  };
  const centre = fromUtm({
    ...southWest,
    easting: southWest.easting + sizeM / 2,
    northing: southWest.northing + sizeM / 2,
  });
  return { ok: true, ...centre, sizeM, southWest };
}

/** Rows start at A on the equator in odd zones and at F in even ones. */
function rowShift(zone: number): number {
  return zone % 2 === 0 ? 5 : 0;
}

function cut(metres: number, digits: UsngDigits): string {
  return digits === 0
    ? ''
    : String(Math.floor(metres % SQUARE_M))
        .padStart(5, '0')
        .slice(0, digits);
}

/** Row letters repeat every 2,000 km: the northing of the one whose square touches the band, or null. */
function northingInBand(rowM: number, from: number, to: number, zone: number, south: boolean): number | null {
  const middle = zone * 6 - 183;
  const lowest = toUtm(from, middle, zone, south).northing - SQUARE_M;
  // Towards a zone's edge the parallel lies north of where it crosses the middle.
  const highest = toUtm(to, middle + 6, zone, south).northing;
  for (let northing = rowM; northing <= highest; northing += ROW_CYCLE_M) {
    if (northing >= lowest) return northing;
  }
  return null;
}
