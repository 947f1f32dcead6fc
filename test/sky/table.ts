import { readFileSync } from 'node:fs';

/** A table written by testdata/erfa/make.py. */
export interface Table<Row> {
  readonly about: string;
  readonly rows: readonly Row[];
  readonly sites?: readonly (readonly [number, number, number, number, number, number])[];
}

export function erfaTable<Row>(name: string): Table<Row> {
  return JSON.parse(readFileSync(new URL(`../../testdata/erfa/${name}`, import.meta.url), 'utf8')) as Table<Row>;
}
