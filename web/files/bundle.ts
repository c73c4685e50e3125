/** Members of a shapefile beside its .shp. */
const MEMBERS = ["shx", "dbf", "prj", "cpg"];

/** Files as they are, but the loose members of a shapefile as one zip, in which their program reads them. */
export async function bundled(files: readonly File[]): Promise<readonly File[]> {
  const shapes = files.filter(({name}) => partsOf(name).ending === "shp");
  const groups = shapes.map((shape) => {
    const {stem} = partsOf(shape.name);
    return [shape, ...files.filter(({name}) => partsOf(name).stem === stem && MEMBERS.includes(partsOf(name).ending))];
  });
  const taken = new Set(groups.filter(({length}) => length > 1).flat());
  const zips = await Promise.all(groups.filter(({length}) => length > 1).map(zipped));
  return [...files.filter((file) => !taken.has(file)), ...zips];
}

async function zipped(members: readonly File[]): Promise<File> {
  const [{zipSync}, ...contents] = await Promise.all([import("fflate"), ...members.map((file) => file.arrayBuffer())]);
  const entries = members.map(({name}, i) => [name, new Uint8Array(contents[i] as ArrayBuffer)] as const);
  const zip = zipSync(Object.fromEntries(entries), {level: 0});
  const {name} = members[0] as File;
  return new File([zip], `${name.slice(0, name.lastIndexOf("."))}.zip`, {type: "application/zip"});
}

function partsOf(name: string): {stem: string; ending: string} {
  const lower = name.toLowerCase();
  const dot = lower.lastIndexOf(".");
  return dot < 0 ? {stem: lower, ending: ""} : {stem: lower.slice(0, dot), ending: lower.slice(dot + 1)};
}
