import js from '@eslint/js';
import globals from 'globals';

const rules = {
  ...js.configs.recommended.rules,
  eqeqeq: 'error',
  'no-var': 'error',
  'prefer-const': 'error',
  // Types are checked by tsc; ids of types alone stand in comments.
  'no-unused-vars': ['error', { argsIgnorePattern: '^_', varsIgnorePattern: '^_' }],
  'max-lines': ['error', 350],
  'max-lines-per-function': ['error', { max: 70, skipBlankLines: true, skipComments: true }],
  // Whatever is typed or sent is text.
  'no-restricted-properties': [
    'error',
    ...['innerHTML', 'outerHTML', 'insertAdjacentHTML'].map((property) => ({ property })),
  ],
  'no-restricted-syntax': [
    'error',
    { selector: 'CallExpression[callee.name=/^(eval|Function)$/]', message: 'No code from text.' },
  ],
};

export default [
  { ignores: ['**/node_modules/**', '**/shots/**'] },
  {
    files: ['**/web/js/**/*.js'],
    languageOptions: { ecmaVersion: 2022, sourceType: 'module', globals: globals.browser },
    rules,
  },
  {
    files: ['**/*.mjs'],
    languageOptions: {
      ecmaVersion: 2024,
      sourceType: 'module',
      globals: { ...globals.node, ...globals.browser },
    },
    rules: { ...rules, 'max-lines-per-function': 'off' },
  },
];
