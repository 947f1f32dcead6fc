import tseslint from 'typescript-eslint';
import { CORE, OUTSIDE, PLACES } from './folders.js';

const PLACE_GLOBALS = ['process', 'Buffer', 'setTimeout', 'setImmediate', 'performance', 'window', 'document'];
const CLOCK = 'The core has no clock: let the time come in as an argument.';
const FLAGS = 'Flags are the command line\'s: carry a remedy (src/remedy.ts).';
const flag = '/(^|[^-\\w(])--[a-z]{2}/';

/** Forbids every folder what comes after it, and the core what only the places where it runs have. */
const folderOrder = [...CORE, ...PLACES].map((folder, at, all) => {
  const isCore = CORE.includes(folder);
  const later = all.slice(at + 1);
  const forbidden = [
    [`^(\\.\\./)+(${[...later, '-'].join('|')})/`, `${folder}/ comes before it: .config/folders.js has the order.`],
    ['^(\\.\\./)+(index|core)\\.js$', 'The library\'s faces are for those outside.'],
    ...(isCore ? [[`^(node:|(${OUTSIDE.join('|')})(/|$))`, `${folder}/ runs anywhere: let it come in as an argument.`]] : []),
  ];
  return {
    files: [`src/${folder}/**/*.ts`],
    rules: {
      'no-restricted-imports': ['error', { patterns: forbidden.map(([regex, message]) => ({ regex, message })) }],
      'no-restricted-globals': isCore ? ['error', ...PLACE_GLOBALS] : 'off',
      'no-restricted-syntax': ['error',
        // Imports at run time are the same to us.
        ...forbidden.map(([regex, message]) => ({ selector: `ImportExpression[source.value=/${regex.replaceAll('/', '\\/')}/]`, message })),
        ...(isCore ? [
          { selector: 'NewExpression[callee.name="Date"][arguments.length=0]', message: CLOCK },
          { selector: 'MemberExpression[object.name="Date"][property.name="now"]', message: CLOCK },
        ] : []),
        ...(folder === 'cli' ? [] : [{ selector: `:matches(Literal[value=${flag}], TemplateElement[value.raw=${flag}])`, message: FLAGS }]),
      ],
    },
  };
});

/** What the order can't hold, each with why. */
const exceptions = [
  // The types of LibRaw's module, which a decoder is given.
  { files: ['src/frames/libRawPicture.ts', 'src/frames/libraw.d.ts'], rules: { 'no-restricted-imports': 'off' } },
  // Builds the catalogue from its sources: a script that lies beside what it makes.
  // Styles of a page: custom properties begin with two dashes.
  { files: ['src/picture/reportPage.ts'], rules: { 'no-restricted-syntax': 'off' } },
];

export default tseslint.config(
  { ignores: ['**/dist/**', '**/node_modules/**'] },
  ...tseslint.configs.recommended,
  {
    rules: {
      '@typescript-eslint/consistent-type-imports': 'error',
      'eqeqeq': 'error',
      'max-len': ['error', { code: 140, ignoreRegExpLiterals: true }],
      'no-console': 'error',
      'prefer-const': 'error',
    },
  },
  ...folderOrder,
  ...exceptions,
  { files: ['demo/**', '.config/**', 'test/**', 'src/cli/**'], rules: { 'no-console': 'off' } },
);
