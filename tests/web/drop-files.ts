import type {Page} from "playwright-core";

/** Lets files fall on the middle of the page, as a hand would that carried them over from a folder. */
export async function dropFiles(page: Page, paths: readonly string[]): Promise<void> {
  const browser = await page.context().newCDPSession(page);
  const {width, height} = page.viewportSize() ?? {width: 0, height: 0};
  const carried = {x: width / 2, y: height / 2, data: {items: [], files: [...paths], dragOperationsMask: 1}};
  await browser.send("Input.dispatchDragEvent", {type: "dragEnter", ...carried});
  await browser.send("Input.dispatchDragEvent", {type: "dragOver", ...carried});
  await page.locator(".dropping").waitFor();
  await browser.send("Input.dispatchDragEvent", {type: "dragOver", ...carried});
  await browser.send("Input.dispatchDragEvent", {type: "drop", ...carried});
  await page.locator(".dropping").waitFor({state: "detached"});
  await browser.detach();
}
