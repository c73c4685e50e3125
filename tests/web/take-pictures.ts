import {mkdirSync, writeFileSync} from "node:fs";
import {type Browser, type BrowserContextOptions, chromium, type Page} from "playwright-core";
import {startBench} from "../../src/cli/start-bench.ts";
import {expectText, ledgerSettled, openStation} from "./at-the-bench.ts";
import {buildFolder} from "./build-page.ts";
import {mapsDrawn} from "./look-at-maps.ts";
import {palettePng} from "./palette-png.ts";

// The pictures of the README, taken of the page as it stands with the sample fields: `npx tsx tests/web/take-pictures.ts`.
// Only the day in the title block differs from one time to the next.

const CHROMIUM = "/usr/bin/chromium";
const FOLDER = new URL("../../docs/pictures/", import.meta.url).pathname;
const PATIENT_MS = 180_000;

interface Picture {
  readonly name: string;
  readonly screen: BrowserContextOptions;
  /** What a person does once Millrace is open and worked out. */
  readonly act: (page: Page) => Promise<void>;
}

const PICTURES: readonly Picture[] = [
  {
    name: "field-1280.png",
    screen: {viewport: {width: 1280, height: 800}},
    act: async (page) => {
      await openStation(page, "Rates");
      await show(page, "rate");
    },
  },
  {
    name: "zones-1920.png",
    screen: {viewport: {width: 1920, height: 1080}},
    act: async (page) => {
      await openStation(page, "Zones");
      await show(page, "zones");
      await expectText(page, "figure[data-strategy=zone] figcaption", /4 zones/);
      await page.getByRole("radio", {name: /^Zone 3/}).check();
    },
  },
  {
    name: "plan-390.png",
    screen: {
      viewport: {width: 390, height: 844},
      deviceScaleFactor: 2,
      hasTouch: true,
      isMobile: true,
      permissions: ["geolocation"],
      geolocation: {longitude: -86.4, latitude: 40.55, accuracy: 5},
    },
    act: async (page) => {
      await show(page, "plan");
      await expectText(page, "figure[data-strategy=grid] figcaption", /630 cores/);
      await page.getByRole("button", {name: "enlarge the map of grid"}).click();
      await page.getByRole("button", {name: "where am I"}).click();
      await expectText(page, ".beneath", /within 16 ft/);
      await page.locator(".over-maps").evaluate("document.querySelector('.over-maps').scrollIntoView()");
    },
  },
];

const {folder, clearUp} = buildFolder();
const bench = await startBench({web: folder, port: 0, sample: true, report: (error) => console.error(error)});
const browser = await chromium.launch({
  executablePath: CHROMIUM,
  args: ["--no-sandbox", "--enable-unsafe-swiftshader", "--no-first-run", "--disable-background-networking"],
});
try {
  mkdirSync(FOLDER, {recursive: true});
  for (const picture of PICTURES) {
    const png = await small(browser, await taken(browser, picture));
    writeFileSync(`${FOLDER}${picture.name}`, png);
    console.log(`docs/pictures/${picture.name}: ${Math.round(png.length / 1000)} kB`);
  }
} finally {
  await browser.close();
  await bench.close();
  clearUp();
}

async function taken(from: Browser, {screen, act}: Picture): Promise<Buffer> {
  const context = await from.newContext({...screen, reducedMotion: "reduce", locale: "en-US", timezoneId: "UTC"});
  context.setDefaultTimeout(PATIENT_MS);
  const page = await context.newPage();
  await page.goto(bench.url);
  await page.locator(".cards a", {hasText: "Millrace"}).click();
  await ledgerSettled(page);
  await mapsDrawn(page);
  await page.locator("figure.map[aria-busy=true]").first().waitFor({state: "detached"});
  await act(page);
  await still(page);
  const png = await page.screenshot();
  await context.close();
  return png;
}

function show(page: Page, what: string): Promise<void> {
  return page.locator(`input[name=show][value=${what}]`).check({force: true});
}

/** Until nothing on the screen changes any more. */
async function still(page: Page): Promise<void> {
  await page.mouse.move(0, 0);
  let before = Buffer.alloc(0);
  for (;;) {
    await page.waitForTimeout(500);
    const now = await page.screenshot();
    if (now.equals(before)) return;
    before = now;
  }
}

/** The same picture of 256 colours; the browser, which wrote it, reads it. */
async function small(from: Browser, png: Buffer): Promise<Uint8Array> {
  const page = await from.newPage();
  const found = (await page.evaluate(`(async () => {
    const bytes = Uint8Array.from(atob("${png.toString("base64")}"), (one) => one.charCodeAt(0));
    const picture = await createImageBitmap(new Blob([bytes], {type: "image/png"}));
    const {width, height} = picture;
    const context = new OffscreenCanvas(width, height).getContext("2d");
    context.drawImage(picture, 0, 0);
    const reader = new FileReader();
    reader.readAsDataURL(new Blob([context.getImageData(0, 0, width, height).data]));
    await new Promise((resolve) => reader.addEventListener("load", resolve));
    return {width, height, base64: reader.result.split(",")[1]};
  })()`)) as {width: number; height: number; base64: string};
  await page.close();
  const {width, height, base64} = found;
  return palettePng({width, height, rgba: Buffer.from(base64, "base64")});
}
