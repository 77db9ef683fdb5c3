// Types of what the program answers, from its schemas: schema/*.json -> src/generated/*.ts. Run before every build and
// type check; the files are not kept, so they cannot differ from the schemas.
//   node scripts/types.ts
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { join, resolve } from 'node:path';
import { compile, type JSONSchema } from 'json-schema-to-typescript';

const schemas = resolve(import.meta.dirname, '../../schema');
const out = resolve(import.meta.dirname, '../src/generated');
mkdirSync(out, { recursive: true });

for (const name of ['result', 'server']) {
  const schema = JSON.parse(readFileSync(join(schemas, `${name}.schema.json`), 'utf8')) as JSONSchema;
  const text = await compile(schema, name === 'result' ? 'AnyResult' : 'AnyMessage', {
    unreachableDefinitions: true,
    bannerComment: `// Made from schema/${name}.schema.json by scripts/types.ts; changes here are lost.`,
    additionalProperties: false,
    format: false,
  });
  const file = join(out, `${name}.ts`);
  if (!existsSync(file) || readFileSync(file, 'utf8') !== text) writeFileSync(file, text);
}
