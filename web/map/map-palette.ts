/** The page's colours for the canvas, which no style sheet reaches; read again whenever the theme changes. */
export type MapPalette = {
  readonly ground: string;
  readonly ink: string;
  readonly soft: string;
  readonly line: string;
  readonly lineStrong: string;
  readonly normal: string;
  readonly hatch: string;
  readonly danger: string;
  readonly dangerInk: string;
  readonly caution: string;
  readonly cautionInk: string;
  readonly cautionEdge: string;
  readonly notice: string;
  readonly focus: string;
};

/** Reads the custom properties that hold at `element`. */
export function readPalette(element: HTMLElement): MapPalette {
  const style = getComputedStyle(element);
  const colour = (name: string) => style.getPropertyValue(name).trim();
  return {
    ground: colour('--panel'),
    ink: colour('--ink'),
    soft: colour('--ink-soft'),
    line: colour('--line'),
    lineStrong: colour('--line-strong'),
    normal: colour('--bar'),
    hatch: colour('--hatch'),
    danger: colour('--danger'),
    dangerInk: colour('--danger-ink'),
    caution: colour('--caution'),
    cautionInk: colour('--caution-ink'),
    cautionEdge: colour('--caution-edge'),
    notice: colour('--notice'),
    focus: colour('--focus'),
  };
}
