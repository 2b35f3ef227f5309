// What the type checker does not see.
import {fileURLToPath} from 'node:url';
import js from '@eslint/js';
import ts from 'typescript-eslint';

export default ts.config(
    {files: ['*.mjs'], extends: [js.configs.recommended],
     languageOptions: {globals: {process: 'readonly', Buffer: 'readonly', console: 'readonly',
                                 URL: 'readonly'}}},
    {
        files: ['app/**/*.ts', 'app/**/*.tsx'],
        extends: [js.configs.recommended, ...ts.configs.recommendedTypeChecked],
        languageOptions: {parserOptions: {projectService: true,
                                          tsconfigRootDir: fileURLToPath(new URL('.', import.meta.url))}},
        rules: {
            'no-undef': 'off', // the type checker knows better
            // Bytes from a file go in as text, and only as text.
            'no-restricted-properties': ['error', ...['innerHTML', 'outerHTML', 'insertAdjacentHTML',
                'write', 'writeln'].map((property) => ({object: 'document', property}))],
            'no-restricted-syntax': ['error',
                {selector: 'MemberExpression[property.name=/^(innerHTML|outerHTML|insertAdjacentHTML|srcdoc)$/]',
                 message: 'text goes in by textContent'},
                {selector: 'JSXAttribute[name.name="dangerouslySetInnerHTML"]',
                 message: 'text goes in by textContent'}],
            '@typescript-eslint/no-misused-promises': ['error', {checksVoidReturn: false}],
        },
    },
);
