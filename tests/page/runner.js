// Runs the assertions of one test module and keeps what failed, for pytest to read.

const tests = [];

/** Names a test; the name is a sentence. */
export function test(name, check) {
  tests.push({ name, check });
}

/** Fails unless both are the same value, compared as JSON with Sets and undefined told apart. */
export function same(actual, expected) {
  const [is, should] = [plain(actual), plain(expected)];
  if (is !== should) throw new Error(`expected ${should}, got ${is}`);
}

export function ok(value, why = "expected something true") {
  if (!value) throw new Error(why);
}

function plain(value) {
  return JSON.stringify(value, (key, one) => {
    if (one === undefined) return "(undefined)";
    return one instanceof Set ? { set: [...one] } : one;
  });
}

/** Imports `path`, runs its tests in order: { ran, failed: [sentence…] }. */
export async function run(path) {
  await import(path);
  const failed = [];
  for (const { name, check } of tests) {
    try {
      await check();
    } catch (error) {
      failed.push(`${name}: ${error.message}`);
    }
  }
  return { ran: tests.length, failed };
}
