import {it} from "vitest";
import {coverageIsValid, loadGeos} from "../../src/geo/geos.ts";
import {randomCase} from "./random-fields.test.ts";
it("x", async () => {
  await loadGeos();
  for (const seed of [25, 54]) {
    const {outline, map} = randomCase(seed);
    const faces = map.zones.flatMap(({shape}) => shape);
    console.log(seed, outline.length, coverageIsValid(outline, 0.1), coverageIsValid(faces, 0), coverageIsValid(faces, 0.1), coverageIsValid(faces, 0.01), coverageIsValid(faces, 0.001), map.zones.map((z) => z.shape.length));


    const out:any[]=[]; for(const r of outline.flat()){const n=r.length-1; for(let i=0;i<n;i++){const a=r[(i+n-1)%n]!,b=r[i]!,c=r[i+1]!; const t1=Math.atan2(a.y-b.y,a.x-b.x),t2=Math.atan2(c.y-b.y,c.x-b.x); let g=(t1-t2)*180/Math.PI; while(g<0)g+=360; if(g<25||g>335) out.push([b.x.toFixed(2),b.y.toFixed(2),g.toFixed(1)]);}} console.log(JSON.stringify(out));
    if (seed===54) { for (const cut of [1e9]) {} for (const z of map.zones) console.log(z.id, coverageIsValid(z.shape,0.1)); }
  }
});
