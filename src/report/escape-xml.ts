/** Text made safe inside elements and attributes of HTML and SVG. */
export function escapeXml(text: string): string {
  return text.replace(/[&<>"]/g, (c) => ({"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;"})[c] as string);
}
