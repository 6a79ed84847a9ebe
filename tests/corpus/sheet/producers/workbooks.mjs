// Workbooks of exceljs 4.4.0, xlsx 0.18.5 and xlsx-populate 1.21.0 (npm).
//
//     node workbooks.mjs FOLDER
import { writeFileSync } from "node:fs";
import exceljs from "exceljs";
import populate from "xlsx-populate";
import xlsx from "xlsx";

const folder = process.argv[2];

const rich = new exceljs.Workbook();
const sheet = rich.addWorksheet("Stones");
sheet.addRow(["item", "carat", "measured", "result", "note", "link"]);
sheet.addRow([
  { richText: [{ text: "R10" }, { font: { bold: true }, text: "42" }] },
  { formula: "0.25*2", result: 0.5 },
  new Date(Date.UTC(2026, 10, 2, 10, 15, 30)),
  { formula: 'IF(B2>0,"N","Q")', result: "N" },
  "tab\tinside",
  { text: "report", hyperlink: "https://reports.example/1" },
]);
sheet.addRow(["R1043", 1e-5, new Date(Date.UTC(1900, 2, 1)), { formula: "B3>0", result: true }, " spaced ", null]);
sheet.getColumn(3).numFmt = "dd.mm.yyyy hh:mm";
await rich.xlsx.writeFile(`${folder}/exceljs.xlsx`);

const plain = xlsx.utils.book_new();
const rows = [
  ["item", "carat", "measured", "ok"],
  ["R1042", 0.1 + 0.2, new Date(2026, 10, 2), true],
  ["R1043", 1234567890123, new Date(2000, 1, 29), false],
];
xlsx.utils.book_append_sheet(plain, xlsx.utils.aoa_to_sheet(rows, { cellDates: false, dateNF: "yyyy-mm-dd" }), "2026");
xlsx.writeFile(plain, `${folder}/sheetjs.xlsx`);
xlsx.writeFile(plain, `${folder}/sheetjs-shared.xlsx`, { bookSST: true, compression: true });
xlsx.writeFile(plain, `${folder}/sheetjs.xlsb`);

const secret = await populate.fromBlankAsync();
secret.sheet(0).cell("A1").value("item");
writeFileSync(`${folder}/encrypted.xlsx`, await secret.outputAsync({ password: "quay-street" }));
