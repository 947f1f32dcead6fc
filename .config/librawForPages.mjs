// LibRaw's module makes two of its functions from text, which a strict content security policy forbids. They are written out here, as the
// texts have them; the names are those of libraw-wasm 1.6.0, and another version that has other ones ends the build.
import { readFile } from 'node:fs/promises';

/** Calls from JavaScript into LibRaw: turns what it is given into numbers, calls, turns back what comes. */
const INVOKER = `((...given) => {
  const at = Object.fromEntries(_.map((name, k) => [name, given[k]]));
  return function (...args) {
    const destructors = i ? [] : null;
    const own = r ? at.toClassParamWire(destructors, this) : null;
    const wired = args.slice(0, o).map((arg, k) => at["toArg" + k + "Wire"](destructors, arg));
    while (wired.length < o) wired.push(at["toArg" + wired.length + "Wire"](destructors, undefined));
    const rv = at.invoker(at.fn, ...(r ? [own] : []), ...wired);
    if (i) at.runDestructors(destructors);
    else for (let k = r ? 1 : 2; k < e.length; ++k) {
      if (e[k].destructorFunction === null) continue;
      at[(k === 1 ? "thisWired" : "arg" + (k - 2) + "Wired") + "_dtor"](k === 1 ? own : wired[k - 2]);
    }
    return t ? at.fromRetWire(rv) : undefined;
  };
})`;

/** Calls from LibRaw into JavaScript. */
const CALLER = `((handle, methodName, destructorsRef, args) => {
  const given = l.map((read, k) => read(args + k * n));
  const on = t === 3 ? null : u.toValue(handle);
  const value = t === 0 ? on(...given) : t === 2 ? new on(...given) : t === 3 ? given.at(-1)
    : on[u.getStringOrSymbol(methodName)](...given);
  return i.isVoid ? value : u.emval_returnValue(u.toReturnWire, destructorsRef, value);
})`;

const PATCHES = [
  ['new Function(_,d)', INVOKER],
  ['new Function(Object.keys(u),v)(...Object.values(u))', CALLER],
];

export const librawForPages = {
  name: 'libraw-for-pages',
  setup({ onLoad }) {
    onLoad({ filter: /libraw-wasm[\\/]dist[\\/]libraw\.js$/ }, async ({ path }) => {
      let contents = await readFile(path, 'utf8');
      for (const [text, code] of PATCHES) {
        if (contents.split(text).length !== 2) throw new Error(`libraw-wasm has changed: "${text}" is not there once`);
        contents = contents.replace(text, () => code);
      }
      if (/\bnew Function\b|\beval\(/.test(contents)) throw new Error('libraw-wasm makes code from text elsewhere too');
      return { contents, loader: 'js' };
    });
  },
};
