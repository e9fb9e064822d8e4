import { toUsngSpoken } from '../../shared/map/usng.ts';

/**
 * A position as it is read aloud over the radio, to 10 m. All of an incident lies in one grid zone, so its number and
 * band are left out, as the standard allows among people who know where they are; the monitor's own page has all.
 */
export function placeWords(position: {
  readonly lat: number;
  readonly lon: number;
  readonly usng?: string | undefined;
}): string {
  const grid = toUsngSpoken(position.lat, position.lon, 4);
  if (grid !== null) return grid.slice(grid.indexOf(' ') + 1);
  if (position.usng) return groupedGrid(position.usng);
  return `${position.lat.toFixed(4)}, ${position.lon.toFixed(4)}`;
}

/** "18SUJ2348306479" as "18S UJ 23483 06479"; what does not look like a grid stays as it is. */
export function groupedGrid(grid: string): string {
  const match = /^(\d{1,2}[C-X])\s*([A-Z]{2})\s*(\d*)$/.exec(grid.replaceAll(' ', ''));
  if (!match) return grid;
  const [, zone = '', square = '', digits = ''] = match;
  const half = digits.length / 2;
  return [zone, square, digits.slice(0, half), digits.slice(half)].filter((part) => part !== '').join(' ');
}
