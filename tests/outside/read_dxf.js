// Reads DXF files with dxf-parser and prints, as one line of JSON, what it found in each.
// In: file names. Out: {file: {units, layers: {name: colour}, entities: [...]}}, in the order of the file.
import { readFileSync } from "node:fs";
import DxfParser from "dxf-parser";

const plain = (entity) => ({
  type: entity.type,
  layer: entity.layer,
  paper: entity.inPaperSpace === true,
  closed: entity.shape === true,
  vertices: (entity.vertices ?? []).map((v) => [v.x, v.y, v.bulge ?? 0]),
  centre: entity.center ? [entity.center.x, entity.center.y] : null,
  radius: entity.radius ?? null,
  text: entity.text ?? null,
});

const found = {};
for (const file of process.argv.slice(2)) {
  const drawing = new DxfParser().parseSync(readFileSync(file, "utf8"));
  found[file] = {
    units: drawing.header.$INSUNITS,
    layers: Object.keys(drawing.tables.layer?.layers ?? {}),
    entities: drawing.entities.map(plain),
  };
}
console.log(JSON.stringify(found));
