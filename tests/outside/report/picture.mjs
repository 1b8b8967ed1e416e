// The picture of the report that README.md shows: the bundled song for the bundled coil, in light colours.
// node picture.mjs report.webp
import { writeFileSync } from "node:fs";
import { join } from "node:path";
import { burstloom, coil, folder, launch, open, samples } from "./browser.mjs";

const most = 150_000;  // bytes: whoever looks at README.md loads it
const song = join(samples, "quayside-lanterns.mid"), stream = join(folder, "song.burst"), path = join(folder, "report.html");
burstloom("weave", song, "--coil", coil, "--out", stream);
burstloom("preview", stream, "--source", song, "--out", path);
const browser = await launch();
const page = await open(browser, path, { colorScheme: "light", viewport: { width: 1200, height: 915 } });
const session = await page.context().newCDPSession(page);
const { data } = await session.send("Page.captureScreenshot", { format: "webp", quality: 70 });
await browser.close();
const picture = Buffer.from(data, "base64");
console.log(`${process.argv[2]}: ${picture.length} bytes`);
if (picture.length > most) throw new Error(`more than ${most} bytes: choose another stretch of the page`);
writeFileSync(process.argv[2], picture);
