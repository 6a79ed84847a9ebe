#include "plugins/sheet/workbook_file.h"

#include <zip.h>

#include <cstdlib>

namespace girdle::sheet {

namespace {

std::string relation(std::string_view id, std::string_view kind, std::string_view target) {
  return "<Relationship Id='" + std::string(id) + "' Type='" + std::string(kRelation) +
         std::string(kind) + "' Target='" + std::string(target) + "'/>";
}

std::string relations(const std::string& inside) {
  return "<Relationships xmlns='http://schemas.openxmlformats.org/package/2006/relationships'>" +
         inside + "</Relationships>";
}

std::string bytes_of(zip_source_t* source) {
  zip_stat_t stat;
  std::string bytes;
  if (zip_source_stat(source, &stat) != 0 || zip_source_open(source) != 0) std::abort();
  bytes.resize(stat.size);
  if (zip_source_read(source, bytes.data(), bytes.size()) < 0) std::abort();
  zip_source_close(source);
  return bytes;
}

}  // namespace

std::string archive(const std::vector<Part>& parts, bool packed) {
  zip_source_t* source = zip_source_buffer_create(nullptr, 0, 0, nullptr);
  zip_source_keep(source);
  zip_t* file = zip_open_from_source(source, ZIP_TRUNCATE, nullptr);
  for (const Part& part : parts) {
    zip_source_t* bytes = zip_source_buffer(file, part.bytes.data(), part.bytes.size(), 0);
    const zip_int64_t index = zip_file_add(file, part.name.c_str(), bytes, 0);
    if (index < 0) std::abort();
    const auto at = static_cast<zip_uint64_t>(index);
    zip_set_file_compression(file, at, packed ? ZIP_CM_DEFLATE : ZIP_CM_STORE, 0);
    zip_file_set_mtime(file, at, 1'000'000'000, 0);
  }
  if (zip_close(file) != 0) std::abort();
  std::string bytes = bytes_of(source);
  zip_source_free(source);
  return bytes;
}

std::vector<Part> parts(const Book& book) {
  std::string strings;
  for (const std::string& text : book.strings) strings += "<si>" + text + "</si>";
  std::string styles;
  for (const std::string& id : book.styles) styles += "<xf numFmtId='" + id + "'/>";
  const std::string own = relation("rId1", "worksheet", "worksheets/sheet1.xml") +
                          relation("rId2", "sharedStrings", "/xl/sharedStrings.xml") +
                          (book.styles.empty() ? "" : relation("rId3", "styles", "styles.xml")) +
                          book.relations;
  return {
      {"_rels/.rels", relations(relation("rId1", "officeDocument", "xl/workbook.xml"))},
      {"xl/workbook.xml", "<workbook xmlns:r='urn:r'><workbookPr " + book.properties +
                              "/><sheets>" + book.sheets + "</sheets></workbook>"},
      {"xl/_rels/workbook.xml.rels", relations(own)},
      {"xl/worksheets/sheet1.xml",
       "<worksheet><sheetData>" + book.rows + "</sheetData>" + book.after_rows + "</worksheet>"},
      {"xl/sharedStrings.xml", "<sst>" + strings + "</sst>"},
      {"xl/styles.xml", "<styleSheet><numFmts>" + book.formats + "</numFmts><cellXfs>" + styles +
                            "</cellXfs></styleSheet>"},
  };
}

}  // namespace girdle::sheet
