// The evening's page and the operator's sheet in a real browser, against set.json and the printed PDF.
import assert from "node:assert/strict";
import { execFileSync } from "node:child_process";
import { existsSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";
import { after, before, test } from "node:test";
import { fileURLToPath, pathToFileURL } from "node:url";
import { burstloom, coil, folder, launch, open } from "./browser.mjs";
import { longSong } from "./songs.mjs";

const hostile = [`</script><script>document.title="fail"</script>`, "x".repeat(300), `"><img src=x onerror=alert(1)> & 'so'`,
                 "right to left \u05E9\u05DC\u05D5\u05DD", "{{order}} $& %s"];
const songs = 20;
const out = join(folder, "evening");
const settled = page => page.evaluate(() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done))));
const hours = seconds => new Date(Math.round(seconds) * 1000).toISOString().slice(12, 19);

let browser, set;
before(async () => {
  // A sink as small as a thumb: seconds warm it as minutes would.
  writeFileSync(join(folder, "warm.toml"), readFileSync(coil, "utf8").replace("sink_heat_capacity_j_per_k = 45.0", "sink_heat_capacity_j_per_k = 2.0"));
  let file = `name = '''${hostile[0]}'''\ncoil = "warm.toml"\n`;
  for (let i = 0; i < songs; ++i) {
    writeFileSync(join(folder, `song-${i}.mid`), longSong(`Song ${i + 1}`, 2 + i % 3));
    file += `[[song]]\nfile = "song-${i}.mid"\npause_s = ${[2, 3.5, 75.25][i % 3]}\n`;
    if (i < hostile.length) file += `title = '''${hostile[i]}'''\n`;
  }
  writeFileSync(join(folder, "evening.toml"), file);
  burstloom("set", join(folder, "evening.toml"), "--out", out, "--plan", "--starts-at", "20:30", "--json");
  set = JSON.parse(readFileSync(join(out, "set.json"), "utf8"));
  browser = await launch();
});
after(async () => { await browser.close(); });

const openPage = options => open(browser, join(out, "evening.html"), options);
const titleOf = song => song.title || song.stem;

test("the page carries set.json, says its figures, and links to the previews", async () => {
  const page = await openPage();
  const carried = await page.evaluate(() => JSON.parse(document.getElementById("data").textContent).set);
  assert.deepEqual(carried, set);
  assert.equal(await page.textContent("#title"), set.name);
  const rows = await page.$$eval("#songs tbody tr", all => all.map(row => [...row.cells].map(cell => cell.textContent)));
  assert.equal(rows.length, songs);
  set.songs.forEach((song, i) => {
    assert.deepEqual(rows[i].slice(0, 8), [String(i + 1), titleOf(song), hours(song.start_s), hours(song.length_s),
      i + 1 < songs ? `${Number(song.pause_after_s.toPrecision(4))} s` : "\u2013", song.highest.junction_c.toFixed(1),
      song.highest.sink_c.toFixed(1), song.at_end.sink_c.toFixed(1)]);
  });
  const links = await page.$$eval("#songs a", all => all.map(link => link.href));
  assert.equal(links.length, songs);
  for (const link of links) assert.ok(existsSync(fileURLToPath(link)), link);
  assert.equal(await page.locator("img").count(), 0);
  assert.deepEqual(page.complaints, []);
  await page.close();
});

test("curves are drawn, and tell what the curve in set.json holds there", async () => {
  const page = await openPage();
  const colours = await page.$$eval("#plots canvas", canvases => canvases.map(canvas => {
    const { data } = canvas.getContext("2d").getImageData(0, 0, canvas.width, canvas.height);
    return new Set(new Uint32Array(data.buffer)).size;
  }));
  assert.equal(colours.length, 3);
  for (const count of colours) assert.ok(count > 20, `a canvas with ${count} colours`);
  const plot = page.locator(".u-over").first();
  await plot.scrollIntoViewIfNeeded();
  const box = await plot.boundingBox();
  for (const part of [0.1, 0.5, 0.9]) {
    const x = Math.round(box.x + box.width * part);
    await page.mouse.move(x, box.y + 20);
    await settled(page);
    const at = await page.evaluate(() => panels[0].u.posToVal(panels[0].u.cursor.left, "x"));
    const point = set.heat.filter(each => each.from_s <= at).at(-1);
    const said = await page.textContent("#readout");
    assert.ok(said.includes(`junction up to ${point.junction_c.toFixed(1)} \u00b0C; heatsink up to ${point.sink_c.toFixed(1)} \u00b0C`), said);
  }
  assert.deepEqual(page.complaints, []);
  await page.close();
});

test("keys and buttons go from song to song and back to the whole evening", async () => {
  const page = await openPage();
  await page.focus("#plots");
  await page.keyboard.press("n");
  await page.keyboard.press("n");
  await settled(page);
  const second = set.songs[1];
  const inView = () => page.evaluate(() => ({ ...view }));
  const { from, until } = await inView();
  assert.ok(from < second.start_s && until > second.start_s + second.length_s && until - from < 2 * second.length_s + 4, `${from} to ${until}`);
  await page.keyboard.press("Home");
  await settled(page);
  assert.deepEqual(await inView(), { from: 0, until: set.length_s });
  await page.locator("#songs tbody tr").nth(7).locator("button").click();
  await settled(page);
  assert.ok((await page.textContent("#readout")).includes("song 8 "));
  assert.deepEqual(page.complaints, []);
  await page.close();
});

test("readable on a telephone, in the light and in the dark", async () => {
  for (const width of [390, 1280]) for (const colorScheme of ["light", "dark"]) {
    const page = await openPage({ viewport: { width, height: 844 }, colorScheme });
    assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `wider than ${width}`);
    const cut = await page.$$eval("td", cells => cells.filter(cell => cell.offsetParent && cell.getBoundingClientRect().right > innerWidth).length);
    assert.equal(cut, 0, `cells past the right edge at ${width}`);
    const brightness = await page.evaluate(() => getComputedStyle(document.body).backgroundColor.match(/\d+/g).slice(0, 3).reduce((a, b) => a + Number(b), 0));
    assert.equal(brightness > 380, colorScheme === "light");
    assert.deepEqual(page.complaints, []);
    await page.close();
  }
});

// Words with their places, a page each (poppler's pdftotext, in points).
function wordsOf(pdf) {
  const html = execFileSync("pdftotext", ["-bbox", pdf, "-"], { encoding: "utf8" });
  return html.split("<page ").slice(1).map(text => {
    const [, width, height] = text.match(/width="([\d.]+)" height="([\d.]+)"/).map(Number);
    const words = [...text.matchAll(/<word xMin="(.*?)" yMin="(.*?)" xMax="(.*?)" yMax="(.*?)">(.*?)<\/word>/g)]
        .map(([, ...it]) => ({ left: +it[0], top: +it[1], right: +it[2], bottom: +it[3], text: it[4] }));
    return { width, height, words };
  });
}

test("both run and wear what is their own alone", async () => {
  for (const name of ["evening.html", "sheet.html"]) {
    const html = readFileSync(join(out, name), "utf8"), path = join(folder, `foreign-${name}`);
    assert.ok(!html.includes("unsafe-inline"), name);
    writeFileSync(path, html.replace("<main>", `<main><script>document.title = "foreign"</script><p id="foreign" style="color: rgb(1, 2, 3)">x</p>`));
    const page = await browser.newPage(), complaints = [];
    page.on("console", message => complaints.push(message.text()));
    await page.goto(pathToFileURL(path).href);
    assert.notEqual(await page.title(), "foreign");
    assert.notEqual(await page.$eval("#foreign", it => getComputedStyle(it).color), "rgb(1, 2, 3)");
    assert.equal(complaints.length, 2, complaints.join("\n"));
    for (const complaint of complaints) assert.match(complaint, /Content Security Policy/);
    await page.close();
  }
});

test("the sheet prints on A4 and Letter: every song whole, nothing past the edges, pages numbered", async () => {
  const page = await browser.newPage();
  const complaints = [];
  page.on("console", message => complaints.push(message.text()));
  page.on("request", request => { if (!request.url().startsWith("file:") || !request.url().endsWith("sheet.html")) complaints.push(request.url()); });
  await page.goto(pathToFileURL(join(out, "sheet.html")).href);
  assert.equal(await page.textContent("h1"), set.name);
  const starts = await page.$$eval("#order tbody tr", rows => rows.map(row => row.cells[1].textContent));
  assert.deepEqual(starts, set.songs.map(song => `2${hours(20.5 * 3600 + song.start_s)}`));
  for (const format of ["A4", "Letter"]) {
    const path = join(folder, `sheet-${format}.pdf`);
    await page.pdf({ path, format });
    const pages = wordsOf(path);
    assert.ok(pages.length >= 3 && pages.length <= 6, `${pages.length} pages on ${format}`);
    const margin = 28;  // points: the sheet's own margins are wider
    pages.forEach(({ width, height, words }, i) => {
      for (const word of words)
        assert.ok(word.left >= margin && word.right <= width - margin && word.top >= margin / 2 && word.bottom <= height - margin / 2, `${word.text} on page ${i + 1}`);
      const footer = words.slice(-30).map(word => word.text).join(" ");
      assert.ok(footer.includes(`page ${i + 1} of ${pages.length}`), footer);
    });
    // A row's stem and its last letters of the title are on one page; each stem is there once.
    const all = pages.flatMap(({ words }) => words.map(word => word.text));
    for (const song of set.songs) assert.equal(all.filter(word => word === song.stem).length, 1, song.stem);
    assert.equal(all.join("").split("x").length - 1 >= 300, true, "a long title is whole");
    assert.equal(all.filter(word => word === "Cautions").length, 1);
  }
  assert.deepEqual(complaints, []);
  await page.close();
});
