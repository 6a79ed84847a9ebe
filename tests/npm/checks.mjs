// Checks that are counted, and each that fails told; shared by the scripts beside this one.
let passed = 0;
let failed = 0;

export function check(name, body) {
  try {
    body();
    passed += 1;
  } catch (error) {
    failed += 1;
    console.error(`failed: ${name}\n  ${error.message}`);
  }
}

// Tells the sum, and whatever else there is to say of it; ends the program.
export function finish(more = "") {
  console.log(`${passed} passed, ${failed} failed${more}`);
  process.exit(failed === 0 ? 0 : 1);
}
