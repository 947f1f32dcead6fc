import tseslint from 'typescript-eslint';

export default tseslint.config(
  { ignores: ['**/dist/**', '**/node_modules/**'] },
  ...tseslint.configs.recommended,
  {
    rules: {
      '@typescript-eslint/consistent-type-imports': 'error',
      'eqeqeq': 'error',
      'no-console': 'error',
      'prefer-const': 'error',
    },
  },
  { files: ['demo/**', '.config/**', 'test/**', 'src/cli/**', 'src/sky/catalogue/build.ts'], rules: { 'no-console': 'off' } },
);
