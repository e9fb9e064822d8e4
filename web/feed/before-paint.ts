/** A draw costs about the same for one row as for twenty: news of a few frames are drawn together. */
const LEAST_MS = 40;

/**
 * Calls back before a paint, at most about 20 times a second: still well under the tenth of a second within which
 * news must be on the screen.
 */
export function createBeforePaint(): (draw: () => void) => void {
  let drawnAt = 0;
  const paint = (draw: () => void) =>
    requestAnimationFrame(() => {
      drawnAt = performance.now();
      draw();
    });
  return (draw) => {
    const wait = drawnAt + LEAST_MS - performance.now();
    if (wait > 0) setTimeout(() => paint(draw), wait);
    else paint(draw);
  };
}
