/** A set of whole numbers kept as merged ranges: what one source has sent is nearly always one range. */

/** Both ends belong to it. */
export type Range = { readonly lo: number; readonly hi: number };

export class RangeSet {
  readonly #lo: number[] = [];
  readonly #hi: number[] = [];

  /** Number of ranges, not of members. */
  get size(): number {
    return this.#lo.length;
  }

  has(value: number): boolean {
    const i = this.#firstEndingAtOrAfter(value);
    const lo = this.#lo[i];
    return lo !== undefined && lo <= value;
  }

  /** Adds every whole number from `lo` to `hi`. */
  add(lo: number, hi: number = lo): void {
    const last = this.#hi.length - 1;
    const end = this.#hi[last];
    if (end !== undefined && lo === end + 1) {
      this.#hi[last] = hi; // the next packet in line, by far the usual case
      return;
    }
    const from = this.#firstEndingAtOrAfter(lo - 1);
    let to = from;
    let least = lo;
    let most = hi;
    for (let start = this.#lo[to]; start !== undefined && start <= hi + 1; start = this.#lo[to]) {
      least = Math.min(least, start);
      most = Math.max(most, this.#hi[to] ?? most);
      to += 1;
    }
    this.#lo.splice(from, to - from, least);
    this.#hi.splice(from, to - from, most);
  }

  /** In rising order. */
  ranges(): Range[] {
    return this.#lo.map((lo, i) => ({ lo, hi: this.#hi[i] ?? lo }));
  }

  #firstEndingAtOrAfter(value: number): number {
    let low = 0;
    let high = this.#hi.length;
    while (low < high) {
      const middle = (low + high) >>> 1;
      if ((this.#hi[middle] ?? 0) < value) low = middle + 1;
      else high = middle;
    }
    return low;
  }
}
