/** Names as column values: TEXT, or a BLOB of UTF-16 where SQLite's UTF-8 could not hold the string. */
import type { NameCell } from './chain.ts';
import { isWellFormed } from './well-formed.ts';

/** Half a surrogate pair would become U+FFFD in TEXT, and two names would become one. */
export function toCell(name: string): string | Buffer {
  return isWellFormed(name) ? name : Buffer.from(name, 'utf16le');
}

export function fromCell(cell: string | Buffer): string {
  return typeof cell === 'string' ? cell : cell.toString('utf16le');
}

export function toOptionalCell(name: string | undefined): NameCell {
  return name === undefined ? null : toCell(name);
}

export function fromOptionalCell(cell: NameCell): string | undefined {
  return cell === null ? undefined : fromCell(cell);
}
