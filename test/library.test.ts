/** The library's two entry points, as another program uses them: through the package's exports, in the built code. */
import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { relative } from 'node:path';
import { fileURLToPath } from 'node:url';
import { createContext, runInContext } from 'node:vm';
import { build } from 'esbuild';
import ts from 'typescript';
import { describe, expect, test } from 'vitest';

const root = fileURLToPath(new URL('..', import.meta.url));
const path = (name: string): string => fileURLToPath(new URL(`../${name}`, import.meta.url));

/** esbuild ends where a module of node's, or one that loads any, gets in: nothing is external. */
async function bundled(): Promise<{ code: string; inputs: string[] }> {
  const { outputFiles, metafile } = await build({
    entryPoints: [path('src/core.ts')], bundle: true, platform: 'browser', format: 'iife', globalName: 'core', write: false, metafile: true,
    logLevel: 'silent',
  });
  return { code: outputFiles[0]!.text, inputs: Object.keys(metafile.inputs) };
}

describe('poleward/core', () => {
  test('is one bundle for a browser: no module of node, no sharp, nothing of node/, cli/ or panel/', async () => {
    const { code, inputs } = await bundled();
    expect(inputs.length).toBeGreaterThan(80);
    expect(inputs.filter(
      (input) => /sharp|libraw|commander|hono/.test(input) || /src\/(node|cli|panel)\//.test(input),
    )).toEqual([]);
    expect(code).not.toMatch(/["']node:/);
    expect(code).not.toMatch(/\brequire\(["']/);
  });

  test('finds the error of frames it made, where there is nothing but the language, atob and TextDecoder', async () => {
    const { code } = await bundled();
    const world = createContext({
      atob, TextDecoder, WebAssembly, bytes: new Uint8Array(readFileSync(path('src/sky/catalogue/stars.bin'))),
    });
    runInContext(code, world);
    const found = runInContext(`(() => {
      const catalogue = core.parseCatalogue(new Uint8Array(bytes));
      const site = { latitudeDeg: -34, longitudeDeg: 150, elevationMetres: 200 };
      const request = {
        ...site, pressureHectopascal: null, temperatureCelsius: null,
        start: new Date(Date.UTC(2026, 10, 25, 12)), focalLengthMillimetres: 180,
        apertureMillimetres: 30, pixelSizeMicrometres: 4.8, size: { width: 640, height: 480 }, exposureSeconds: 4, intervalSeconds: 45,
        altitudeErrorArcmin: -7, azimuthErrorArcmin: 11, rotationsDeg: [0, 35, 70], tracking: false, target: null, frames: 3, guided: false,
        periodicErrorArcsec: 0, rateErrorArcsecPerMinute: 0, jitterArcsec: 0, mirrored: false,
        rollDeg: 25, pointingOffsetDeg: 0.3, fwhmPixels: 2.4,
        skyMagnitude: 20, cloud: 0, trees: 0, satellite: false, moon: false, seed: 'library',
      };
      const night = core.planNight(core.simulationPlan(request), catalogue);
      const frames = [0, 1, 2].map((n) => {
        const { image, truth } = core.renderFrame(night, n);
        return core.frameOf('frame ' + n, image, truth.midUtc);
      });
      const { measurement, warnings } = core.measure(frames, { catalogue, site, aim: 'true' });
      const of = (e) => [e.altitude / core.ARCMINUTE, e.azimuth / core.ARCMINUTE];
      return JSON.stringify({ off: of(measurement.fromTruePole), sigma: of(measurement.sigma), warnings });
    })()`, world) as string;
    const { off, sigma, warnings } = JSON.parse(found) as { off: number[]; sigma: number[]; warnings: unknown[] };
    expect(Math.abs(off[0]! + 7)).toBeLessThan(4 * sigma[0]!);
    expect(Math.abs(off[1]! - 11)).toBeLessThan(4 * sigma[1]!);
    expect(Math.max(...sigma)).toBeLessThan(0.1);
    expect(warnings).toEqual([]);
  });
});

describe('poleward', () => {
  test('the example of the README says what the demo\'s frames were made with', () => {
    const example = /## As a library\n\n```js\n([^]*?)```/.exec(readFileSync(path('README.md'), 'utf8'))![1]!;
    expect(example.trim().split('\n').filter((line) => line !== '').length).toBeLessThanOrEqual(10);
    // By the package's own name: the folder's package.json resolves it as it would for a program that installed it.
    const said = execFileSync(process.execPath, ['--input-type=module', '--eval', example], { cwd: root, encoding: 'utf8' });
    const truth =
      JSON.parse(readFileSync(path('demo/truth.json'), 'utf8')) as {
        axis: { fromRefractedPole: { altitudeArcmin: number; azimuthArcmin: number } };
      };
    const [, altitude, azimuth] = /^altitude (-?[\d.]+)′, azimuth (-?[\d.]+)′\n$/.exec(said) ?? [];
    expect(Math.abs(Number(altitude) - truth.axis.fromRefractedPole.altitudeArcmin), said).toBeLessThan(0.03);
    expect(Math.abs(Number(azimuth) - truth.axis.fromRefractedPole.azimuthArcmin), said).toBeLessThan(0.03);
  });

  test.each(['src/core.ts', 'src/index.ts'])('%s exports every type that what it exports speaks of', (entry) => {
    expect(typesNotExported(path(entry))).toEqual([]);
  }, 60_000);
});

/** "Type of file, by export": named types of ours in the declarations of a module's exports that it does not export itself. */
function typesNotExported(entry: string): string[] {
  const { config } = ts.readConfigFile(path('tsconfig.json'), (file) => ts.sys.readFile(file)) as { config: { compilerOptions: object } };
  const program = ts.createProgram([entry], ts.convertCompilerOptionsFromJson(config.compilerOptions, root).options);
  const checker = program.getTypeChecker();
  const meant = (symbol: ts.Symbol): ts.Symbol => ((symbol.flags & ts.SymbolFlags.Alias) !== 0 ? checker.getAliasedSymbol(symbol) : symbol);
  const exported = new Set(checker.getExportsOfModule(checker.getSymbolAtLocation(program.getSourceFile(entry)!)!).map(meant));
  expect(exported.size).toBeGreaterThan(50);
  const missing = new Set<string>();
  const visit = (node: ts.Node, owner: string): void => {
    if (ts.isBlock(node)) return;
    const named = ts.isTypeReferenceNode(node) ? node.typeName : ts.isExpressionWithTypeArguments(node) ? node.expression : null;
    const symbol = named && checker.getSymbolAtLocation(named);
    const declared = symbol && meant(symbol).declarations?.[0];
    if (declared && declared.getSourceFile().fileName.startsWith(path('src/')) && !ts.isTypeParameterDeclaration(declared)
      && !exported.has(meant(symbol))) {
      missing.add(`${symbol.name} of ${relative(root, declared.getSourceFile().fileName)}, by ${owner}`);
    }
    if (ts.isVariableDeclaration(node)) {
      if (node.type) visit(node.type, owner);
      return;
    }
    ts.forEachChild(node, (child) => { visit(child, owner); });
  };
  for (const symbol of exported) for (const declaration of symbol.declarations ?? []) visit(declaration, symbol.name);
  return [...missing];
}
