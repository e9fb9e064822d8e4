/** News of a few moments are drawn together: a draw costs about the same for one row as for ten. */
const LEAST_MS = 33;

/**
 * Calls back soon, at most about 30 times a second: well under the tenth of a second within which news must be on
 * the screen. It asks for no frame of its own: where nothing that can be seen has changed, none is drawn.
 */
export function createBeforePaint(): (draw: () => void) => void {
  let drawnAt = 0;
  return (draw) => {
    const wait = Math.max(0, drawnAt + LEAST_MS - performance.now());
    setTimeout(() => {
      drawnAt = performance.now();
      draw();
    }, wait);
  };
}
