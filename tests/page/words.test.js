import { words } from "../../web/js/all_words.js";
import { words as first } from "../../web/js/words.js";
import { ok, same, test } from "./runner.js";

test("one is not said as many", () => {
  same(words.radios(1), "1 radio");
  same(words.radios(2), "2 radios");
  same(words.ways(1), "1 way");
  same(words.pieces(0), "0 pieces");
  same(words.bar.waits(1), "1 thing waits on this phone, not sent yet.");
  same(words.bar.waits(2), "2 things wait on this phone, not sent yet.");
  same(words.now.boxes(["3"]), "box 3");
  same([words.ask.perRadio("battery", 1), words.ask.perRadio("battery", 2)], ["battery", "2 batteries"]);
  same([words.ask.shared("pouch", 1), words.ask.shared("pouch", 3)], ["1 pouch in all", "3 pouches in all"]);
  same([words.days.booked(1), words.days.booked(24)], ["the one booked", "all 24 booked"]);
  same([words.pieces(1), words.lines(1), words.radios(1000)], ["1 piece", "1 line", "1,000 radios"]);
  same(words.now.boxes(["3", "7"]), "boxes 3 and 7");
});

test("a service that is down is not called no signal", () => {
  same([words.bar.unheard("13:52", true), words.bar.unheard("13:52", false)], ["no answer · as of 13:52", "no signal · as of 13:52"]);
  same([words.problem.unheard(true).title, words.problem.unheard(false).title], ["The service does not answer", "No signal"]);
});

test("lists end in and", () => {
  same(words.and([]), "");
  same(words.and(["a"]), "a");
  same(words.and(["a", "b"]), "a and b");
  same(words.and(["a", "b", "c"]), "a, b and c");
});

test("a unit is called a unit once", () => {
  same(words.unit("Second"), "Second unit");
  same(words.unit("Second unit"), "Second unit");
});

test("a frequency is said in MHz with three places", () => {
  same(words.yes.frequency(611200000), "611.200");
  same(words.yes.frequency(613225000), "613.225");
});

test("a problem says what to mend, and each sentence once", () => {
  same(words.problem.other({ title: "Bad", detail: "Give a day.", errors: [{ detail: "Give a day." }, { detail: "Give a number." }] }), "Give a day. Give a number.");
  same(words.problem.other({ title: "Not found", detail: "" }), "Not found.");
});

test("no sentence shouts, begs or boasts", () => {
  const text = [];
  (function walk(value) {
    if (typeof value === "string") text.push(value);
    else if (typeof value === "function") text.push(String(value));
    else Object.values(value ?? {}).forEach(walk);
  })(words);
  ok(text.length > 200);
  const bad = text.filter((one) => /successfully|please|[a-z]!(["'`\s]|$)/i.test(one));
  same(bad, []);
});

test("the first page speaks with the words that come with it", async () => {
  const shell = await (await fetch("../../web/index.html")).text();
  const modules = [...shell.matchAll(/modulepreload" href="(\/web\/[^"]+)"/g)].map(([, path]) => path);
  const missing = [];
  for (const path of modules) {
    const text = await (await fetch(`../..${path}`)).text();
    for (const [all, name, inner] of text.matchAll(/(?<![/\w])words\.(\w+)(?:\.(\w+))?/g)) {
      if (!(name in first) || (inner && typeof first[name] === "object" && !(inner in first[name]))) missing.push(`${path} ${all}`);
    }
  }
  ok(modules.length > 15);
  same(missing, []);
});
