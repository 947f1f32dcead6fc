import { DOMParser, type Document, type Element } from '@xmldom/xmldom';
import { parse } from 'parse5';

/** Parses XML and throws at anything that is not well-formed (an outside parser: xmldom). */
export function wellFormed(text: string, type: 'image/svg+xml' | 'application/xhtml+xml' = 'image/svg+xml'): Document {
  return new DOMParser({
    // What XML can't hold is shown as U+FFFD on purpose; the parser warns of it.
    onError: (level, message) => { if (!/replacement character/.test(message)) throw new Error(`${level}: ${message}`); },
  }).parseFromString(text, type);
}

/** Errors that the HTML standard's parsing rules name (an outside parser: parse5). */
export function htmlErrors(text: string): string[] {
  const errors: string[] = [];
  parse(text, { onParseError: (e) => { errors.push(`${e.code} at ${e.startLine}:${e.startCol}`); } });
  return errors;
}

/** All elements of a document, in order. */
export function elements(document: Document): Element[] {
  return Array.from(document.getElementsByTagName('*'));
}

/** All elements that carry a class. */
export function withClass(document: Document, name: string): Element[] {
  return elements(document).filter((e) => (e.getAttribute('class') ?? '').split(' ').includes(name));
}
