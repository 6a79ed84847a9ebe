// Checks that wait, one after the other; each that fails is told.
let passed = 0;
const failed = [];

const only = process.env.ONLY; // a part of a check's name, while one works on it

export async function check(name, body) {
  if (only !== undefined && !name.includes(only)) return;
  try {
    const before = Date.now();
    await body();
    if (process.env.TIMES) console.log(`${Date.now() - before} ms  ${name}`);
    passed += 1;
  } catch (error) {
    failed.push(name);
    console.error(`failed: ${name}\n  ${error.stack}`);
  }
}

export function finish() {
  console.log(`${passed} passed, ${failed.length} failed`);
  process.exit(failed.length === 0 && passed > 0 ? 0 : 1);
}
