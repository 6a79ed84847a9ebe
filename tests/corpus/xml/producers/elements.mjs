// The documents of elements.py again, by xmlbuilder2 (npm), from told.json beside them.
//
//     node elements.mjs FOLDER
import { readFileSync, writeFileSync } from "node:fs";
import { create } from "xmlbuilder2";

const folder = process.argv[2];
const stones = JSON.parse(readFileSync(`${folder}/told.json`, "utf8")).map(Object.fromEntries);
const document = create({ version: "1.0", encoding: "UTF-8" }).ele("export").com(" stones of the day ").ele("stones");
for (const told of stones) {
  const stone = document.ele("stone", { id: told["@id"] });
  stone.ele("weight", { unit: told["weight/@unit"] }).txt(told.weight);
  const note = stone.ele("note");
  if (told.note.includes("&")) note.dat(told.note);
  else note.txt(told.note);
  stone.ele("by").ele("name").txt(told["by/name"]);
}
writeFileSync(`${folder}/xmlbuilder2.xml`, document.end());
writeFileSync(`${folder}/xmlbuilder2-pretty.xml`, document.end({ prettyPrint: true, allowEmptyTags: true }));
