import type { Node } from 'jsonc-parser';
import { editDistance } from './editDistance.js';
import type { Schema } from './rigSchema.js';

/** What is wrong at a place of a JSON text. */
export interface Fault {
  /** Where in the text, characters from its start. */
  readonly offset: number;
  /** "knobs.azimuth.clockwise"; empty for the whole. */
  readonly field: string;
  /** What is wrong and what was expected; a sentence without its full stop. */
  readonly says: string;
}

/** All places where a parsed JSON tree breaks a schema, in the order of the text. */
export function checkSchema(node: Node, schema: Schema, field = ''): Fault[] {
  if (node.type !== schema.type) {
    return [{ offset: node.offset, field, says: `is ${shown(node)}; expected ${schema.description}` }];
  }
  return schema.type === 'object' ? checkObject(node, schema, field) : checkValue(node, schema, field);
}

function checkValue(node: Node, schema: Schema, field: string): Fault[] {
  const value: unknown = node.value;
  const ok = typeof value === 'number'
    ? Number.isFinite(value) && value >= (schema.minimum ?? -Infinity) && value <= (schema.maximum ?? Infinity)
      && value > (schema.exclusiveMinimum ?? -Infinity)
    : (schema.const === undefined || value === schema.const) && (typeof value !== 'string' || (
      (schema.enum === undefined || schema.enum.includes(value))
      && (schema.pattern === undefined || new RegExp(schema.pattern, 'u').test(value))
      && [...value].length >= (schema.minLength ?? 0) && [...value].length <= (schema.maxLength ?? Infinity)
    ));
  return ok ? [] : [{ offset: node.offset, field, says: `is ${shown(node)}; expected ${schema.description}` }];
}

function checkObject(node: Node, schema: Schema, field: string): Fault[] {
  const faults: Fault[] = [];
  const known = Object.keys(schema.properties ?? {});
  const present = new Map<string, Node>();
  const path = (name: string): string => (field === '' ? name : `${field}.${name}`);
  for (const property of node.children ?? []) {
    const [key, value] = property.children ?? [];
    if (!key || !value) continue;
    const name = String(key.value);
    if (present.has(name)) {
      faults.push({ offset: key.offset, field: path(name), says: 'is given twice; expected once' });
      continue;
    }
    present.set(name, key);
    const inner = Object.hasOwn(schema.properties ?? {}, name) ? schema.properties![name] : schema.additionalProperties || undefined;
    if (inner) faults.push(...checkSchema(value, inner, path(name)));
    else faults.push({
      offset: key.offset, field: path(name),
      says: `is not a field of the rig file; expected ${known.filter((k) => k !== '$schema').join(', ')}${meant(name, known)}`,
    });
  }
  for (const name of schema.required ?? []) {
    if (!present.has(name)) faults.push({
      offset: node.offset, field: path(name), says: `is missing; expected ${schema.properties![name]!.description}`,
    });
  }
  for (const [name, others] of Object.entries(schema.dependentRequired ?? {})) {
    const key = present.get(name);
    for (const other of key ? others : []) {
      if (!present.has(other)) faults.push({
        offset: key!.offset, field: path(other),
        says: `is missing, and ${name} needs it; expected ${schema.properties![other]!.description}`,
      });
    }
  }
  for (const { not: { required: [a, b] } } of schema.allOf ?? []) {
    const second = present.get(b);
    if (present.has(a) && second) faults.push({
      offset: second.offset, field: path(b), says: `is given together with ${a}; expected one of the two`,
    });
  }
  return faults.sort((a, b) => a.offset - b.offset);
}

function shown(node: Node): string {
  switch (node.type) {
    case 'object': return 'an object';
    case 'array': return 'a list';
    case 'null': return 'null';
    case 'string': return JSON.stringify(String(node.value).length > 30 ? `${String(node.value).slice(0, 30)}…` : node.value);
    default: return String(node.value);
  }
}

/** " (azimuth?)" where one known name is near. */
function meant(name: string, known: readonly string[]): string {
  const near = known.map((k) => ({ k, d: editDistance(name.toLowerCase(), k.toLowerCase()) })).sort((a, b) => a.d - b.d)[0];
  return near && near.d <= Math.max(2, near.k.length / 3) ? ` (did you mean ${near.k}?)` : '';
}
