// The report in a real browser, against the program's own other answers: `check --json`, the CSV export.
import assert from "node:assert/strict";
import { readFileSync, statSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { burstloom, coil, folder, launch, open, samples } from "./browser.mjs";
import { longSong, midiFile } from "./songs.mjs";

let browser;
before(async () => { browser = await launch(); });
after(async () => { await browser.close(); });

const pathOf = name => join(folder, name);
const fail = "this must not run";

function woven(song, name) {
  const stream = pathOf(`${name}.burst`);
  burstloom("weave", song, "--coil", coil, "--out", stream, "--json");
  return stream;
}
function reportOf(stream, ...words) {
  const path = `${stream}.html`;
  burstloom("preview", stream, "--out", path, "--json", ...words);
  return path;
}
const rowsOf = (page, id) => page.$$eval(`#${id} tbody tr`, rows => rows.map(row => [...row.cells].map(cell => cell.textContent)));
// Without the thin spaces between groups of digits.
const plain = text => text.replaceAll("\u202f", "");
const numberIn = text => parseFloat(plain(text));
const readout = async page => plain(await page.textContent("#readout"));
// WCAG 2.2, 1.4.3: contrast ratio of two colours "rgb(r, g, b)".
function contrast(...colours) {
  const [dark, bright] = colours.map(colour => colour.match(/\d+/g).slice(0, 3).map(Number).map(value => value / 255)
    .map(value => value <= 0.04045 ? value / 12.92 : ((value + 0.055) / 1.055) ** 2.4)
    .reduce((sum, value, i) => sum + value * [0.2126, 0.7152, 0.0722][i], 0)).sort((a, b) => a - b);
  return (bright + 0.05) / (dark + 0.05);
}
const settled = page => page.evaluate(() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done))));
const inView = page => page.evaluate(() => ({ ...view }));
const plotBox = async (page, title) =>
    (await page.locator(".plot", { hasText: title }).first().locator(".u-over").boundingBox());
const csvOf = stream => {
  burstloom("export", stream, "--to", "csv", "--out", `${stream}.csv`, ...(stream.endsWith(".csv") ? ["--coil", coil] : []));
  return readFileSync(`${stream}.csv`, "utf8").trim().split("\n").slice(2).map(line => line.split(","));
};

async function saysWhatCheckSays(page, stream, ...words) {
  const check = JSON.parse(burstloom("check", stream, "--json", ...words));
  const verdict = await page.textContent("#verdict");
  assert.ok(verdict.toLowerCase().includes(check.verdict), verdict);
  const rows = await rowsOf(page, "limits");
  assert.equal(rows.length, check.limits.length);
  check.limits.forEach((limit, i) => {
    assert.equal(rows[i][0], limit.limit);
    assert.equal(numberIn(rows[i][1]), Number(limit.worst.toPrecision(4)));
    assert.equal(numberIn(rows[i][2]), Number(limit.allowed.toPrecision(4)));
    assert.equal(rows[i][3], `${limit.margin_percent.toFixed(1)} %`);
    assert.equal(rows[i][5], limit.held ? "\u2713 held" : limit.unsure ? "? cannot tell" : "\u2717 exceeded");
  });
  const smallest = check.limits.reduce((a, b) => a.margin_percent <= b.margin_percent ? a : b);
  assert.ok(verdict.includes(`: ${smallest.limit.replace(/ m(ax|in)$/, "")}, `), verdict);
  for (const name of check.not_judged) assert.ok((await page.textContent("#remarks")).includes(name));
  return check;
}

test("a bundled song: complete, quiet, and as check has it", async t => {
  const stream = woven(join(samples, "quayside-lanterns.mid"), "lanterns");
  const page = await open(browser, reportOf(stream, "--source", join(samples, "quayside-lanterns.mid")));
  const check = await saysWhatCheckSays(page, stream);
  const csv = csvOf(stream);

  await t.test("every plot is drawn", async () => {
    const titles = await page.$$eval(".plot h3", all => all.map(each => each.firstChild.textContent));
    for (const wanted of ["On-time (\u00b5s)", "Break rate (Hz)", "Duty, 10 ms (%)", "Duty, 1000 ms (%)", "Peak current (A)",
                          "Junction (\u00b0C)", "Heatsink (\u00b0C)", "Supply, mean of a second (W)", "Bus (V)", "Notes",
                          "Spectrogram of the source", "Spectrogram of the sound sketch"])
      assert.ok(titles.includes(wanted), `${wanted} among ${titles}`);
    const colours = await page.$$eval(".u-wrap > canvas, .u-wrap canvas", canvases => canvases.map(canvas => {
      const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
      return new Set(new Uint32Array(data.buffer)).size;
    }));
    assert.equal(colours.length, titles.length + 1);  // and the gate's spectrum
    for (const count of colours) assert.ok(count > 20, `a canvas with ${count} colours`);
  });

  await t.test("the page's own running sums reach what the judge found in the stream", async () => {
    for (const limit of check.limits.filter(each => /^(duty|break rate)/.test(each.limit))) {
      const most = await page.evaluate(name => {
        const panel = panels.find(each => each.spec.limit === name);
        return Math.max(...panel.spec.shown(0, songSeconds, 1000).high);
      }, limit.limit);
      assert.ok(Math.abs(most - limit.in_stream) < 1e-6 * limit.in_stream, `${limit.limit}: ${most}, ${limit.in_stream}`);
    }
  });

  await t.test("dragging looks closer, a double click gives the whole song back", async () => {
    const box = await plotBox(page, "Break rate");
    await page.mouse.move(box.x + box.width / 4, box.y + 40);
    await page.mouse.down();
    await page.mouse.move(box.x + box.width / 2, box.y + 50, { steps: 5 });
    await page.mouse.up();
    await settled(page);
    const { from, until } = await inView(page);
    assert.ok(Math.abs(from - check.stream.length_s / 4) < 0.2 && Math.abs(until - check.stream.length_s / 2) < 0.2, `${from} to ${until}`);
    await page.mouse.dblclick(box.x + 100, box.y + 40);
    await settled(page);
    assert.deepEqual(await inView(page), { from: 0, until: check.stream.length_s });
  });

  await t.test("keys look closer, move along and go from burst to burst", async () => {
    await page.focus("#plots");
    const whole = await inView(page);
    await page.keyboard.press("+");
    await settled(page);
    const half = await inView(page);
    assert.ok(Math.abs((half.until - half.from) * 2 - (whole.until - whole.from)) < 1e-6);
    await page.keyboard.press("ArrowRight");
    await settled(page);
    assert.ok((await inView(page)).from > half.from);
    await page.keyboard.press("Home");
    await page.keyboard.press("n");
    await settled(page);
    const first = Number(await page.getAttribute("#readout", "data-burst"));
    await page.keyboard.press("n");
    await settled(page);
    assert.equal(Number(await page.getAttribute("#readout", "data-burst")), first + 1);
    await page.keyboard.press("p");
    await settled(page);
    assert.equal(Number(await page.getAttribute("#readout", "data-burst")), first);
  });

  await t.test("a burst under the pointer shows the CSV's numbers", async () => {
    for (const i of [0, 1, 4711, 30000, csv.length - 1]) {
      const middle = (Number(csv[i][0]) + Number(csv[i][1]) / 2) / 1e6;
      await page.evaluate(at => look(at - 0.0005, at + 0.0005), middle);
      await settled(page);
      const box = await plotBox(page, "On-time");
      const { from, until } = await inView(page);
      await page.mouse.move(box.x + box.width * (middle - from) / (until - from), box.y + box.height - 5);
      const words = await readout(page);
      assert.ok(words.startsWith(`burst ${i + 1} of ${csv.length}; start ${csv[i][0]} \u00b5s; on-time ${csv[i][1]} \u00b5s`), words);
    }
  });

  await t.test("sounds decode to the song's length, the sketch's bursts where the stream has them", async () => {
    await page.waitForFunction(() => [...document.querySelectorAll("audio")].every(audio => audio.readyState >= 2));
    const sounds = await page.evaluate(async () => {
      const context = new OfflineAudioContext(1, 48000, 48000);
      return Promise.all(data.sounds.map(async (sound, i) => {
        const decoded = await context.decodeAudioData(bytesOf(`sound-${i}`).buffer);
        const samples = decoded.getChannelData(0);
        const loudest = samples.reduce((a, b) => Math.max(a, Math.abs(b)), 0);
        return { name: sound.name, seconds: decoded.duration, onset: samples.findIndex(s => Math.abs(s) > loudest / 10) / decoded.sampleRate };
      }));
    });
    assert.deepEqual(sounds.map(sound => sound.name), ["source", "sound sketch"]);
    const sketch = sounds[1];
    assert.ok(Math.abs(sounds[0].seconds - check.stream.length_s) < 0.1, `${sounds[0].seconds} s`);
    assert.ok(Math.abs(sketch.seconds - check.stream.length_s) < 0.1, `${sketch.seconds} s`);
    assert.ok(Math.abs(sketch.onset - Number(csv[0][0]) / 1e6) < 0.003, `begins at ${sketch.onset} s`);
  });

  await t.test("the mark follows what is played, in view", async () => {
    await page.evaluate(() => { look(0, 20); players[1].muted = true; });
    await settled(page);
    await page.evaluate(() => { players[1].currentTime = 5; return players[1].play(); });
    const leftOf = () => page.$eval(".u-over .playing", mark => parseFloat(mark.style.left));
    await page.waitForFunction(() => players[1].currentTime > 5.2);
    const one = await leftOf();
    await page.waitForFunction(() => players[1].currentTime > 5.6);
    assert.ok(await leftOf() > one);
    await page.evaluate(() => players[1].pause());
  });

  await t.test("a note says why", async () => {
    const note = await page.evaluate(() => {
      const note = account.notes.find(each => each.changes.some(change => change.fate === "shifted"));
      look(secondsOf(note.start) - 0.1, secondsOf(note.end) + 0.1);
      return { at: secondsOf(note.start + note.end) / 2, key: note.key, name: noteName(note.key) };
    });
    await settled(page);
    const where = await page.evaluate(({ at, key }) => {
      const { u } = panels.find(panel => panel.spec.title === "Notes");
      return { left: u.valToPos(at, "x"), top: u.valToPos(key, "y") };
    }, note);
    await page.locator(".plot", { hasText: "dashed: not played" }).locator(".u-over").click({ position: { x: where.left, y: where.top } });
    const why = await page.textContent("#why");
    assert.match(why, new RegExp(`^${note.name}, channel .* bursts wanted, .* shifted.*because of .*gap`), why);
  });

  await t.test("the account's sums are the ledger's", async () => {
    const { ledger, notes } = JSON.parse(burstloom("weave", join(samples, "quayside-lanterns.mid"), "--coil", coil, "--out", pathOf("again.burst"), "--json"));
    const words = plain(await page.textContent("#burst-sum"));
    assert.ok(words.includes(`wanted ${ledger.wanted} bursts = ${ledger.kept} kept + ${ledger.lengthened} lengthened + ` +
                             `${ledger.shortened} shortened + ${ledger.shifted} shifted + ${ledger.dropped} dropped`), words);
    const counted = plain(await page.textContent("#note-sum"));
    const share = count => `${count} (${(100 * count / notes.read).toFixed(1)} %)`;
    assert.ok(counted.startsWith(`${notes.read} notes read = ${share(notes.whole)} played whole + ${share(notes.cut_short)} cut short + ` +
                                 `${share(notes.not_played)} not played.`), counted);
    assert.equal(notes.read, notes.whole + notes.cut_short + notes.not_played);
    const losses = [...notes.cut_short_by, ...notes.not_played_by];
    assert.deepEqual((await rowsOf(page, "notes")).map(row => [row[1], parseInt(plain(row[2]))]), losses.map(({ reason, notes }) => [reason, notes]));
  });

  await t.test("a limit's button shows where it is closest", async () => {
    const limit = check.limits.find(each => each.limit === "on-time max");
    await page.locator("#limits tr", { hasText: "on-time max" }).locator("button").click();
    await settled(page);
    const { from, until } = await inView(page);
    assert.ok(from <= limit.at_s && limit.at_s <= until && until - from < 0.2);
    assert.ok((await readout(page)).includes(`on-time ${limit.in_stream} \u00b5s`), await readout(page));
  });
  assert.deepEqual(page.complaints, []);
  await page.close();
});

test("a stream outside its limits is marked as that, not by colour alone", async () => {
  const stream = pathOf("close.csv");
  writeFileSync(stream, "# tick_hz=2000000\nstart_us,on_us\n100,30\n180,30\n5000,39\n5200.5,39.5\n90000,10\n");
  const page = await open(browser, reportOf(stream, "--coil", coil));
  const check = await saysWhatCheckSays(page, stream, "--coil", coil);
  assert.equal(check.verdict, "outside limits");
  assert.ok((await page.textContent("#verdict")).startsWith("\u2717"));
  assert.ok((await rowsOf(page, "limits")).some(row => row[0] === "gap" && row[5] === "\u2717 exceeded"));
  // The whole block and the whole row stand out, in a colour that is legible.
  const looks = await page.evaluate(() => ["#verdict", "#limits tr.exceeded td", "#limits tr.held td"].map(where => {
    const { backgroundColor, color } = getComputedStyle(document.querySelector(where));
    return { backgroundColor, color };
  }));
  assert.deepEqual(looks[0], looks[1]);
  assert.notEqual(looks[0].backgroundColor, looks[2].backgroundColor);
  assert.ok(contrast(looks[0].backgroundColor, looks[0].color) >= 4.5, JSON.stringify(looks[0]));
  const rows = await rowsOf(page, "exceeded");
  assert.deepEqual(rows.map(row => [row[0], numberIn(row[5])]), check.spans.map(span => [span.limit, span.count]));
  await page.locator("#exceeded button").first().click();
  await settled(page);
  const { from, until } = await inView(page);
  assert.ok(from <= check.spans[0].from_s && check.spans[0].until_s <= until);
  assert.equal(await page.isHidden("#note-section"), true);  // no music made it
  assert.deepEqual(page.complaints, []);
  await page.close();
});

test("every stretch outside a limit is marked, also past the thousandth violation", async () => {
  const stream = pathOf("crowded.csv");
  let lines = "# tick_hz=2000000\nstart_us,on_us\n";
  for (let i = 0; i < 3000; ++i) lines += `${100 + i * 40 + (i < 1500 ? 0 : 5e6)},10\n`;  // gaps of 30 us, twice 60 ms of them
  writeFileSync(stream, lines);
  const page = await open(browser, reportOf(stream, "--coil", coil));
  const check = await saysWhatCheckSays(page, stream, "--coil", coil);
  const gaps = check.spans.filter(span => span.limit === "gap");
  assert.deepEqual(gaps.map(span => span.count), [1499, 1499]);
  assert.ok(check.violations_in_all > check.violations.length);
  // In the plot of the break rate the ground is tinted where the second stretch is.
  const marked = await page.evaluate(() => {
    const span = data.check.spans.filter(each => each.limit === "break rate").at(-1);
    const { u } = panels.find(panel => panel.spec.limit === "break rate");
    const x = Math.round(u.valToPos((span.from_s + span.until_s) / 2, "x", true));
    const [r, g, b] = u.ctx.getImageData(x, u.bbox.top + 2, 1, 1).data;
    const wrong = document.createElement("canvas").getContext("2d");
    wrong.fillStyle = colour("--wrong");
    wrong.fillRect(0, 0, 1, 1);
    return [[r, g, b], [...wrong.getImageData(0, 0, 1, 1).data].slice(0, 3)];
  });
  assert.deepEqual(marked[0], marked[1]);
  assert.deepEqual(page.complaints, []);
  await page.close();
});

test("the page runs its own script and style alone", async () => {
  const path = reportOf(woven(join(samples, "quayside-lanterns.mid"), "guarded"), "--no-audio");
  const html = readFileSync(path, "utf8");
  assert.ok(!html.includes("unsafe-inline"));
  const foreign = `<script>document.title = "${fail}"</script><p id="foreign" style="color: rgb(1, 2, 3)" onclick="document.title = '${fail}'">x</p>`;
  writeFileSync(path, html.replace("<main>", `<main>${foreign}`));
  const page = await open(browser, path);
  await page.click("#foreign");
  assert.notEqual(await page.title(), fail);
  assert.notEqual(await page.$eval("#foreign", it => getComputedStyle(it).color), "rgb(1, 2, 3)");
  assert.equal(page.complaints.length, 3, page.complaints.join("\n"));  // script, style, handler: and none of the page's own
  for (const complaint of page.complaints) assert.match(complaint, /Content Security Policy/);
  await page.close();
});

test("a silent stream has a page, too", async () => {
  const stream = pathOf("silent.csv");
  writeFileSync(stream, "# tick_hz=2000000\nstart_us,on_us\n");
  const page = await open(browser, reportOf(stream, "--coil", coil));
  await page.keyboard.press("n");
  await saysWhatCheckSays(page, stream, "--coil", coil);
  assert.deepEqual(page.complaints, []);
  await page.close();
});

test("hostile names are text", async () => {
  const names = [`</script><script>document.title="${fail}"</script>`, `"><img src=x onerror="document.title='${fail}'">`,
                 "<!--<script>", "it's \"quoted\" & \u{1F5FC}\u{1F3B5}", "x".repeat(300), "{{data}} {{script}} $& %s"];
  const hostileCoil = pathOf("hostile.toml");
  writeFileSync(hostileCoil, readFileSync(coil, "utf8").replace(/^name = .*$/m, `name = '''${names[1]}'''`));
  for (const [i, name] of names.entries()) {
    const song = pathOf(`<b>${i}&.mid`), stream = pathOf(`<b>${i}&.burst`);
    writeFileSync(song, midiFile(name, [{ at: 0, length: 480, key: 69 }]));
    burstloom("weave", song, "--coil", hostileCoil, "--out", stream, "--json");
    const page = await open(browser, reportOf(stream));
    assert.equal(await page.textContent("#title"), name);
    assert.equal(await page.title(), name.replace(/\s+/g, " "));
    assert.ok((await page.textContent("#whose")).includes(names[1]));
    assert.match(await page.evaluate(() => noteInWords(account.notes[0])), /^A4, channel 1, voice 1, velocity 100, 0:00.000 to 0:00.500: /);
    assert.equal(await page.locator("img").count(), 0);
    assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), "wider than the window");
    assert.deepEqual(page.complaints, []);
    await page.close();
  }
});

test("readable in the dark, on a telephone and on paper", async () => {
  const stream = woven(join(samples, "ferry-call.flac"), "ferry");
  const path = reportOf(stream, "--source", join(samples, "ferry-call.flac"));
  const brightness = page => page.evaluate(() => getComputedStyle(document.body).backgroundColor.match(/\d+/g).slice(0, 3).reduce((a, b) => a + Number(b), 0));
  const page = await open(browser, path, { viewport: { width: 390, height: 844 }, colorScheme: "dark" });
  assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= 390));
  assert.ok(await brightness(page) < 150);
  await page.emulateMedia({ colorScheme: "light" });
  assert.ok(await brightness(page) > 700);
  const pdf = await page.pdf();
  assert.ok(pdf.length > 20000);
  assert.deepEqual(page.complaints, []);
  await page.close();
});

test("200 000 bursts fit in 6 MB without sounds", async () => {
  const song = pathOf("long.mid");
  writeFileSync(song, longSong("Five minutes", 225));
  const path = reportOf(woven(song, "long"), "--no-audio");
  assert.ok(statSync(path).size < 6e6);
  const page = await open(browser, path);
  assert.ok(await page.evaluate(() => bursts.count) > 200000);
  assert.equal(await page.locator("audio").count(), 0);
  assert.deepEqual(page.complaints, []);
  await page.close();
});
