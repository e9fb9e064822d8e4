/**
 * Finds a free place for each label beside its marker. What matters most is placed first; a label stays where it
 * was while that place is free, so that labels do not dance; one that finds none is left to the list.
 */
export type Box = { readonly x: number; readonly y: number; readonly width: number; readonly height: number };

export type LabelWish = {
  readonly id: string;
  /** The marker's middle, pixels. */
  readonly x: number;
  readonly y: number;
  /** The size it would like, then smaller ones that say less. */
  readonly sizes: readonly Size[];
};
export type Size = { readonly width: number; readonly height: number };
export type PlacedLabel = {
  readonly id: string;
  readonly box: Box;
  /** Index of the size that fitted. */
  readonly size: number;
  /** Which of the places it has; kept for the next time. */
  readonly slot: number;
  /** Far enough from the marker to need a line to it. */
  readonly leader: boolean;
};

const NEAR_PX = 17;
const RINGS_PX = [NEAR_PX, 44, 76, 112];
/** Right, left, then round about: where eyes look first. */
const DIRECTIONS: readonly (readonly [number, number])[] = [
  [1, 0],
  [-1, 0],
  [1, 1],
  [1, -1],
  [-1, 1],
  [-1, -1],
  [0, -1],
  [0, 1],
];

/**
 * Places labels in the order given, within `frame`, clear of each other and of every box in `taken` (markers,
 * and what lies over the map). Returns those that
 * found a place; `before` holds the slots of the last time.
 */
export function placeLabels(
  wishes: readonly LabelWish[],
  taken: readonly Box[],
  frame: Box,
  before: ReadonlyMap<string, number>,
): PlacedLabel[] {
  const placed: PlacedLabel[] = [];
  const isFree = (box: Box) =>
    within(box, frame) &&
    !taken.some((other) => overlap(other, box)) &&
    !placed.some((other) => overlap(other.box, box));
  for (const wish of wishes) {
    const slots = Array.from({ length: RINGS_PX.length * DIRECTIONS.length }, (_, slot) => slot);
    const last = before.get(wish.id);
    if (last !== undefined) slots.unshift(last);
    for (const [size, wanted] of wish.sizes.entries()) {
      const slot = slots.find((one) => isFree(boxAt(wish, wanted, one)));
      if (slot === undefined) continue;
      const leader = slot >= DIRECTIONS.length;
      placed.push({ id: wish.id, box: boxAt(wish, wanted, slot), size, slot, leader });
      break;
    }
  }
  return placed;
}

function boxAt({ x, y }: LabelWish, { width, height }: Size, slot: number): Box {
  const distance = RINGS_PX[Math.floor(slot / DIRECTIONS.length)] ?? NEAR_PX;
  const [dx, dy] = DIRECTIONS[slot % DIRECTIONS.length] ?? [1, 0];
  const across = dx !== 0 && dy !== 0 ? distance * 0.75 : distance;
  return {
    x: x + dx * across + (dx < 0 ? -width : dx === 0 ? -width / 2 : 0),
    y: y + dy * across + (dy < 0 ? -height : dy === 0 ? -height / 2 : 0),
    width,
    height,
  };
}

function within(box: Box, frame: Box): boolean {
  return (
    box.x >= frame.x &&
    box.y >= frame.y &&
    box.x + box.width <= frame.x + frame.width &&
    box.y + box.height <= frame.y + frame.height
  );
}

/** True where two boxes share more than an edge. */
export function overlap(a: Box, b: Box): boolean {
  return a.x < b.x + b.width && b.x < a.x + a.width && a.y < b.y + b.height && b.y < a.y + a.height;
}
