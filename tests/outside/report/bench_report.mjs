// How long a report of a 5-minute song with about 200 000 bursts takes to write and to open, and how large it is.
import { statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { burstloom, coil, folder, launch, open } from "./browser.mjs";
import { longSong } from "./songs.mjs";

const song = join(folder, "long.mid"), stream = join(folder, "long.burst");
writeFileSync(song, longSong("Three voices for five minutes", 300));
const woven = JSON.parse(burstloom("weave", song, "--coil", coil, "--out", stream, "--json"));
console.log(`${woven.stream.bursts} bursts in ${woven.stream.length_s} s, ${woven.ledger.wanted - woven.ledger.kept} changed`);
const seconds = work => { const from = performance.now(); work(); return ((performance.now() - from) / 1000).toFixed(2); };
const check = seconds(() => burstloom("check", stream));
for (const words of [["--no-audio"], []]) {
  const path = join(folder, "report.html");
  const took = seconds(() => burstloom("preview", stream, "--out", path, ...words));
  const browser = await launch();
  const from = performance.now();
  const page = await open(browser, path);
  const ready = ((performance.now() - from) / 1000).toFixed(2);
  const zoom = await page.evaluate(async () => {
    const from = performance.now();
    look(100, 200);
    await new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)));
    return performance.now() - from;
  });
  console.log(`${words.length ? "without" : "with"} audio: written in ${took} s (check alone ${check} s), ` +
              `${(statSync(path).size / 1e6).toFixed(2)} MB, drawn and interactive after ${ready} s, a zoom ${zoom.toFixed(0)} ms`);
  await browser.close();
}
