import { expect, test } from 'vitest';
import { withoutFarSuggestion } from '../../src/cli/suggestions.js';

const UNKNOWN = 'error: unknown option \'--start\'';

test('a suggested word is shown where the word typed is that one misspelt or cut short', () => {
  for (const [typed, name] of [['--latitdue', '--latitude'], ['--elev', '--elevation'], ['measur', 'measure']]) {
    const text = `error: unknown ${typed!.startsWith('-') ? 'option' : 'command'} '${typed}'\n(Did you mean ${name}?)\n`;
    expect(withoutFarSuggestion(text)).toBe(text);
  }
});

test('a suggested word that is a different word is not shown', () => {
  expect(withoutFarSuggestion(`${UNKNOWN}\n(Did you mean --target?)\n`)).toBe(`${UNKNOWN}\n`);
  expect(withoutFarSuggestion(`${UNKNOWN}\n(Did you mean one of --target, --temperature?)\n`)).toBe(`${UNKNOWN}\n`);
});

test('errors without a suggestion are shown as they are', () => {
  const text = 'error: required option \'--out <folder>\' not specified\n';
  expect(withoutFarSuggestion(text)).toBe(text);
});
