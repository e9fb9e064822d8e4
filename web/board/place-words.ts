/** A position as it is read aloud over the radio: the grid in groups where there is one. */
export function placeWords(position: {
  readonly lat: number;
  readonly lon: number;
  readonly usng?: string | undefined;
}): string {
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
