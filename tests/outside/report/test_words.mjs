// The pages write numbers, units and times as the terminal does: the table is that of tests/preview/words_test.cpp.
import assert from "node:assert/strict";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { test } from "node:test";
import vm from "node:vm";

const project = process.env.PROJECT;
const functions = ["figure", "grouped", "fixed", "withUnit", "clock", "hours"];
const page = vm.createContext({});
vm.runInContext(readFileSync(join(project, "src/preview/page/basics.js"), "utf8") + `\nglobalThis.words = { ${functions} };`, page);

test("numbers, units and times are the terminal's", () => {
  const table = JSON.parse(readFileSync(join(project, "tests/support/words_table.json"), "utf8"));
  assert.ok(table.length > 40);
  for (const [name, given, text] of table)
    assert.equal(page.words[name](...given).replaceAll("\u202f", " "), text, `${name}(${given})`);
});

test("groups do not part at the end of a line", () => {
  assert.equal(page.words.grouped(94168), "94\u202f168");
  assert.equal(page.words.figure(NaN), "not known");
});
