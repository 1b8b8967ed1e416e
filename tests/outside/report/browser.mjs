// The program and the browser, for tests and benchmarks.
import { execFileSync } from "node:child_process";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

export const samples = process.env.SAMPLES;
export const coil = join(samples, "coils/bench-36v.toml");
export const folder = mkdtempSync(join(tmpdir(), "burstloom-report-"));
process.on("exit", () => rmSync(folder, { recursive: true, force: true }));

// Runs `burstloom ...`; 0 and 1 are answers, anything else is none.
export function burstloom(...words) {
  try {
    return execFileSync(process.env.BURSTLOOM, words, { encoding: "utf8", maxBuffer: 1 << 28 });
  } catch (failed) {
    if (failed.status === 1) return failed.stdout;
    throw failed;
  }
}

export const launch = () => chromium.launch({
  executablePath: process.env.CHROMIUM,
  args: ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--autoplay-policy=no-user-gesture-required"],
});

// Opens a report; `page.complaints` collects whatever the console or the network sees beside the page itself.
export async function open(browser, path, options = {}) {
  const page = await browser.newPage({ viewport: { width: 1280, height: 900 }, ...options });
  page.complaints = [];
  page.on("console", message => page.complaints.push(`console: ${message.text()}`));
  page.on("pageerror", error => page.complaints.push(`error: ${error.message}`));
  page.on("request", request => {
    if (request.url() !== pathToFileURL(path).href && !request.url().startsWith("blob:"))
      page.complaints.push(`request: ${request.url()}`);
  });
  await page.goto(pathToFileURL(path).href);
  await page.waitForSelector("html[data-ready=yes]", { timeout: 20000 });
  return page;
}
