#include "sheet/sheet_reader.h"

#include <gmock/gmock.h>

#include "plugins/promises.h"
#include "plugins/sheet/workbook_file.h"

namespace girdle::sheet {
namespace {

using plugins_test::Aside;
using plugins_test::corpus;
using plugins_test::Heard;
using plugins_test::Limits;
using plugins_test::Options;
using plugins_test::read;
using testing::ElementsAre;
using testing::Field;
using testing::HasSubstr;
using testing::IsEmpty;
using testing::Pair;
using testing::SizeIs;

// Sources of the cases: tests/corpus/sheet/README.md.
TEST(SheetCorpus, WorkbooksComeOutAsWritten) {
  plugins_test::expect_corpus(descriptor(), "sheet", 22, "xlsx");
}

TEST(SheetCorpus, IsTheSameHoweverItIsCut) {
  plugins_test::expect_corpus_from_any_split(descriptor(), "sheet", "xlsx", {{}, {1000, 8}, {64, 8}});
}

// A row of inline strings, as many columns as texts.
std::string row(const std::vector<std::string>& texts) {
  std::string cells;
  for (const std::string& text : texts)
    cells += "<c t='inlineStr'><is><t>" + text + "</t></is></c>";
  return "<row>" + cells + "</row>";
}

Heard read_book(const Book& book, const Options& options = {}, const Limits& limits = {}) {
  const Heard heard = read(descriptor(), {workbook(book)}, options, true, limits);
  EXPECT_THAT(heard.breaches, IsEmpty());
  EXPECT_EQ(heard.status, GIRDLE_OK);
  return heard;
}

// What becomes of one cell, in a column named a; the reason where it is set aside.
std::string cell_text(const std::string& cell, Book book = {}, const Options& options = {}) {
  book.rows = row({"a", "b"}) + "<row>" + cell + "<c t='str' r='B2'><v>there</v></c></row>";
  const Heard heard = read_book(book, options);
  if (heard.records.empty()) return heard.asides.empty() ? "nothing" : heard.asides[0].reason;
  return heard.records[0].fields[0].second;
}

// ECMA-376, part 1: cells 18.3.1.4, their kinds 18.18.11.
TEST(SheetReader, TellsTheKindsOfCells) {
  const Book shared = {.strings = {"<t>zero</t>", "<r><t>o</t></r><r><t>ne</t></r>"}};
  EXPECT_EQ(cell_text("<c t='s'><v>1</v></c>", shared), "one");
  EXPECT_EQ(cell_text("<c t='s'><v> 0 </v></c>", shared), "zero");
  EXPECT_EQ(cell_text("<c t='inlineStr'><is><t>x_x000A_y</t></is></c>"), "x\ny");
  EXPECT_EQ(cell_text("<c t='str'><f>A9</f><v> x </v></c>"), " x ");
  EXPECT_EQ(cell_text("<c t='b'><v>1</v></c>"), "true");
  EXPECT_EQ(cell_text("<c t='b'><v>0</v></c>"), "false");
  EXPECT_EQ(cell_text("<c t='n'><v>0.50</v></c>"), "0.50");
  EXPECT_EQ(cell_text("<c><v>\n12E4 </v></c>"), "12E4");
  EXPECT_EQ(cell_text("<c><f>1/4</f><v>0.25</v></c>"), "0.25");
  EXPECT_EQ(cell_text("<c t='d'><v>2026-11-02T10:15:30</v></c>"), "2026-11-02T10:15:30");
  EXPECT_EQ(cell_text("<c/>"), "");
  EXPECT_EQ(cell_text("<c t='s'/>"), "");
  EXPECT_EQ(cell_text("<x:c xmlns:x='urn:x'><x:v>7</x:v></x:c>"), "7");
}

TEST(SheetReader, SetsARowAsideForACellThatItCannotRead) {
  const std::pair<const char*, const char*> cells[] = {
      {"<c t='e'><v>#DIV/0!</v></c>", "cell A2 holds the error \"#DIV/0!\""},
      {"<c><f>1/4</f></c>", "cell A2 has a formula without its result"},
      {"<c><f>1/4</f><v></v></c>", "cell A2 has a formula without its result"},
      {"<c t='s'><v>3</v></c>", "cell A2 refers to the text \"3\""},
      {"<c t='s'><v>x</v></c>", "cell A2 refers to the text \"x\""},
      {"<c t='b'><v>2</v></c>", "cell A2 is neither true nor false"},
      {"<c t='z'><v>2</v></c>", "cell A2 is of the unknown kind \"z\""},
      {"<c><v>two</v></c>", "cell A2 holds \"two\", which is no number"},
      {"<c r='C2'><v>1</v></c>", "a cell \"B2\" where one of row 2 and of column D"},
      {"<c r='A3'><v>1</v></c>", "a cell \"A3\" where one of row 2 and of column A"},
      {"<c r='1A'><v>1</v></c>", "a cell \"1A\""},
  };
  for (const auto& [cell, reason] : cells) EXPECT_THAT(cell_text(cell), HasSubstr(reason)) << cell;
}

TEST(SheetReader, TellsDatesByTheirStyles) {
  const Book styled = {.formats =
                           "<numFmt numFmtId='164' formatCode='yyyy\\-mm\\-dd\\ hh:mm'/>"
                           "<numFmt numFmtId='165' formatCode='0.00&quot; d&quot;'/>",
                       .styles = {"0", "14", "164", "165", "20", "46"}};
  EXPECT_EQ(cell_text("<c s='0'><v>46328</v></c>", styled), "46328");
  EXPECT_EQ(cell_text("<c s='1'><v>46328</v></c>", styled), "2026-11-02");
  EXPECT_EQ(cell_text("<c s='2'><v>46328.4274305556</v></c>", styled), "2026-11-02T10:15:30");
  EXPECT_EQ(cell_text("<c s='3'><v>46328</v></c>", styled), "46328");
  EXPECT_EQ(cell_text("<c s='4'><v>0.4274305556</v></c>", styled), "10:15:30");
  EXPECT_EQ(cell_text("<c s='5'><v>1.09375</v></c>", styled), "26:15:00");
  EXPECT_THAT(cell_text("<c s='1'><v>60</v></c>", styled), HasSubstr("a day that never was"));
  EXPECT_THAT(cell_text("<c s='6'><v>1</v></c>", styled), HasSubstr("has the style \"6\""));
  EXPECT_THAT(cell_text("<c s='x'><v>1</v></c>", styled), HasSubstr("has the style \"x\""));
  EXPECT_EQ(cell_text("<c s='4' t='str'><v>1</v></c>", styled), "1");
  Book mac = styled;
  mac.properties = "date1904='1'";
  EXPECT_EQ(cell_text("<c s='1'><v>44866</v></c>", mac), "2026-11-02");
  // A format's number that is none says nothing: the general one would be a guess.
  EXPECT_THAT(cell_text("<c s='0'><v>46328</v></c>", {.styles = {"14x"}}),
              HasSubstr("has the style \"0\", which the workbook does not explain"));
  EXPECT_EQ(cell_text("<c s='0'><v>46328</v></c>", {.styles = {""}}), "46328");
  // A workbook without styles has numbers only.
  EXPECT_EQ(cell_text("<c s='1'><v>46328</v></c>"), "46328");
}

TEST(SheetReader, WritesNumbersShortestWhereItIsTold) {
  const std::string cell = "<c><v>0.28999999999999998</v></c>";
  EXPECT_EQ(cell_text(cell), "0.28999999999999998");
  EXPECT_EQ(cell_text(cell, {}, {{"numbers", "shortest"}}), "0.29");
  EXPECT_EQ(cell_text("<c><v>1.0E-2</v></c>", {}, {{"numbers", "shortest"}}), "0.01");
  EXPECT_EQ(cell_text("<c><v>1E300</v></c>", {}, {{"numbers", "shortest"}}), "1E300");
}

TEST(SheetReader, SharesTheDocumentOutAmongTheRows) {
  std::string rows = row({"a"});
  for (int i = 0; i < 40; ++i) rows += i % 5 == 4 ? "<row/>" : row({i % 7 == 3 ? "" : "x"});
  const std::string bytes = workbook({.rows = rows});
  const Heard heard = read(descriptor(), {bytes});
  EXPECT_THAT(heard.breaches, IsEmpty());
  ASSERT_GT(heard.records.size(), 20u);
  for (const auto& record : heard.records) {
    EXPECT_EQ(record.offset, bytes.size() * (record.line - 1) / 41) << record.line;
    EXPECT_EQ(record.offset + record.length, bytes.size() * record.line / 41) << record.line;
    EXPECT_EQ(record.layout, heard.records[0].layout);
  }
  EXPECT_EQ(heard.records[0].line, 2u);
  EXPECT_EQ(heard.consumed, bytes.size());
}

TEST(SheetReader, GivesARecordNoMoreBytesThanTheLimit) {
  std::string rows = row({"a"}) + row({"x"});
  const std::string bytes = workbook({.rows = rows});
  const Limits limits = {bytes.size() / 7, 10};
  const Heard heard = read(descriptor(), {bytes}, {}, true, limits);
  ASSERT_THAT(heard.records, SizeIs(1)) << heard.text();
  EXPECT_THAT(heard.breaches, IsEmpty());
  EXPECT_EQ(heard.records[0].length, limits.bytes);
}

TEST(SheetReader, TakesTheHeaderFromTheRowThatItIsTold) {
  const std::string rows =
      row({"quay-street"}) +
      "<row r='4'><c r='B4' t='str'><v>item</v></c><c r='D4'><v>5</v></c></row>" +
      "<row><c r='B5' t='str'><v>R1042</v></c></row>";
  const Heard heard = read_book({.rows = rows}, {{"header", "4"}});
  ASSERT_THAT(heard.records, SizeIs(1)) << heard.text();
  EXPECT_THAT(heard.records[0].fields, ElementsAre(Pair("item", "R1042"), Pair("5", "")));
  EXPECT_EQ(heard.records[0].line, 5u);
  EXPECT_THAT(read_book({.rows = rows}, {{"header", "3"}}).asides,
              ElementsAre(Field(&Aside::reason, HasSubstr("row 3 holds nothing"))));
  EXPECT_THAT(read_book({.rows = rows}, {{"header", "9"}}).asides,
              ElementsAre(Field(&Aside::reason, HasSubstr("row 9 holds nothing"))));
}

TEST(SheetReader, NamesColumnsByLettersWhereNoRowDoes) {
  const Heard heard = read_book({.rows = row({"x"}) + row({"y", "", "z"})}, {{"header", "0"}});
  ASSERT_THAT(heard.records, SizeIs(2));
  EXPECT_THAT(heard.records[0].fields, ElementsAre(Pair("A", "x"), Pair("B", ""), Pair("C", "")));
  EXPECT_THAT(heard.records[1].fields, ElementsAre(Pair("A", "y"), Pair("B", ""), Pair("C", "z")));
}

TEST(SheetReader, RefusesAHeaderThatItCannotUse) {
  const auto reason = [](const std::string& rows, const Limits& limits = {}) {
    const Heard heard = read_book({.rows = rows}, {}, limits);
    return heard.asides.size() == 1 && heard.records.empty() ? heard.asides[0].reason
                                                             : heard.text();
  };
  EXPECT_THAT(reason(row({"a", "a"}) + row({"1", "2"})), HasSubstr("two columns are named \"a\""));
  EXPECT_THAT(reason("<row><c t='e'><v>#REF!</v></c></row>"), HasSubstr("cell A1 holds the error"));
  EXPECT_THAT(reason(row({"a", "b", "c"}), {1 << 20, 2}), HasSubstr("names 3 columns; at most 2"));
  EXPECT_THAT(reason("<row/>" + row({"a"})), HasSubstr("row 1 holds nothing"));
}

TEST(SheetReader, FindsNothingWrongWithASheetOfAHeaderAlone) {
  EXPECT_EQ(read_book({.rows = row({"a"})}).text(), "");
  EXPECT_EQ(read_book({.rows = ""}, {{"header", "0"}}).text(), "");
  const Heard none = read_book({.rows = ""});
  ASSERT_THAT(none.asides, SizeIs(1));
  EXPECT_EQ(none.asides[0].length, 0u);
  EXPECT_THAT(none.asides[0].reason, HasSubstr("no row at all"));
}

TEST(SheetReader, SetsARowAsideThatHasMoreThanTheHeaderNames) {
  const Heard heard = read_book({.rows = row({"a", "", "c"}) + row({"1", "x", "3"}) +
                                         row({"1", "", "3", ""}) + row({"1", "", "3", "4"})});
  EXPECT_THAT(heard.records, SizeIs(1));
  EXPECT_THAT(heard.asides,
              ElementsAre(Field(&Aside::reason, HasSubstr("column B, which has no name")),
                          Field(&Aside::reason, HasSubstr("column D, which has no name"))));
}

TEST(SheetReader, SetsARowAsideThatIsNotNumberedInOrder) {
  const Heard heard = read_book(
      {.rows = row({"a"}) + "<row r='5'><c><v>1</v></c></row><row r='5'><c><v>2</v></c></row>"
                            "<row r='x'><c><v>3</v></c></row><row r='9'><c><v>4</v></c></row>"});
  ASSERT_THAT(heard.records, SizeIs(2)) << heard.text();
  EXPECT_EQ(heard.records[1].line, 9u);
  EXPECT_THAT(heard.asides,
              ElementsAre(Field(&Aside::reason, HasSubstr("numbered \"5\" where row 6")),
                          Field(&Aside::reason, HasSubstr("numbered \"x\""))));
}

TEST(SheetReader, ReadsHiddenRowsAndNoCoveredCells) {
  const std::string rows = row({"a", "b"}) + "<row hidden='1'><c><v>1</v></c></row>" +
                           row({"2", "x"}) + row({"", "y"}) + "<row/>";
  const Heard heard = read_book(
      {.rows = rows, .after_rows = "<mergeCells count='1'><mergeCell ref='A3:A5'/></mergeCells>"});
  EXPECT_THAT(heard.records, SizeIs(2));
  EXPECT_THAT(heard.asides, ElementsAre(Field(&Aside::reason, HasSubstr("merged cells A3:A5"))));
}

TEST(SheetReader, ReadsNothingOfAWorkbookThatIsAtFaultAnywhere) {
  const std::string rows = row({"a"}) + row({"1"});
  const auto reason = [](std::vector<Part> all, size_t which, const std::string& bytes) {
    all[which].bytes = bytes;
    const Heard heard = read(descriptor(), {archive(all)});
    EXPECT_THAT(heard.records, IsEmpty());
    return heard.asides.size() == 1 ? heard.asides[0].reason : heard.text();
  };
  const std::vector<Part> good = parts({.rows = rows});
  EXPECT_THAT(reason(good, 3, "<worksheet><sheetData>" + rows + "</sheetData>"),
              HasSubstr("xl/worksheets/sheet1.xml: line 1: the document ends"));
  EXPECT_THAT(reason(good, 3,
                     "<worksheet><sheetData>" + rows +
                         "<row><c><v>&x;</v></c></row></sheetData></worksheet>"),
              HasSubstr("\"&x;\" is not declared"));
  EXPECT_THAT(reason(good, 3, "<!DOCTYPE x><worksheet/>"), HasSubstr("DOCTYPE"));
  EXPECT_THAT(
      reason(good, 4,
             "<!DOCTYPE x [<!ENTITY a SYSTEM 'file:///secret'>]><sst><si><t>&a;</t></si></sst>"),
      HasSubstr("xl/sharedStrings.xml: line 1: a document type"));
  EXPECT_THAT(reason(good, 2, "<Relationships>"), HasSubstr("xl/_rels/workbook.xml.rels: line 1"));
}

TEST(SheetReader, LooksAtNoMacrosAndNoConnections) {
  std::vector<Part> all = parts({.rows = row({"a"}) + row({"1"}),
                                 .relations = "<Relationship Id='rId8' Type='urn:macros' "
                                              "Target='vbaProject.bin'/><Relationship Id='rId9' "
                                              "Type='urn:x' Target='https://links.example/book' "
                                              "TargetMode='External'/>"});
  all.push_back({"xl/vbaProject.bin", "no project at all"});
  all.push_back({"xl/connections.xml", "<connections><"});
  EXPECT_THAT(read(descriptor(), {archive(all)}).text(), testing::EndsWith(" line 2 [a]=[1]\n"));
}

TEST(SheetReader, ReadsPartsInUtf16) {
  std::vector<Part> all = parts({.rows = row({"a"}) + row({"1"})});
  std::string wide = "\xFF\xFE";
  for (const char c : all[3].bytes) wide += {c, '\0'};
  all[3].bytes = wide;
  EXPECT_THAT(read(descriptor(), {archive(all)}).records, SizeIs(1));
}

TEST(SheetReader, BoundsTheTextsThatCellsShare) {
  const std::vector<std::string> texts(70'000, "<t>x</t>");
  const std::string bytes = archive(parts({.rows = row({"a"}), .strings = texts}), true);
  const Options packed_well = {{"max_ratio", "1000"}};
  EXPECT_EQ(read(descriptor(), {bytes}, packed_well).text(), "");
  EXPECT_THAT(read(descriptor(), {bytes}, packed_well, true, {70'000, 8}).text(),
              HasSubstr("its texts are together longer than 560000 bytes"));
}

TEST(SheetReader, SetsADocumentAsideThatIsTooLongWhileItComes) {
  const std::string bytes(1000, 'x');
  const Heard growing = read(descriptor(), plugins_test::pieces_of(bytes, 100), {}, false, {64, 8});
  EXPECT_GE(growing.consumed, 900u);
  const Heard heard = read(descriptor(), {bytes}, {}, true, {64, 8});
  ASSERT_THAT(heard.asides, SizeIs(16));
  EXPECT_EQ(heard.asides[0].length, 64u);
  EXPECT_THAT(heard.asides[0].reason,
              HasSubstr("longer than 512 bytes, eight times the intake's max_record"));
  EXPECT_THAT(read(descriptor(), {bytes}, {{"max_bytes", "999"}}).asides[0].reason,
              HasSubstr("longer than 999 bytes (max_bytes)"));
  EXPECT_THAT(read(descriptor(), {bytes}, {{"max_bytes", "1000"}}).asides[0].reason,
              HasSubstr("zip archive"));
}

TEST(SheetReader, KeepsAGrowingDocumentUntilItsEnd) {
  const std::string bytes = workbook({.rows = row({"a"}) + row({"1"})});
  const Heard heard = read(descriptor(), {bytes}, {}, false);
  EXPECT_EQ(heard.text(), "");
  EXPECT_EQ(heard.consumed, 0u);
  EXPECT_EQ(heard.state, "");
}

TEST(SheetReader, RefusesAStateThatIsNotItsOwn) {
  const std::string bytes(1000, 'x');
  const std::string good = read(descriptor(), {bytes}, {}, false, {64, 8}).state;
  ASSERT_NE(good, "");
  EXPECT_EQ(read(descriptor(), {bytes}, {}, false, {64, 8}, good).refusal, "");
  for (const std::string& bad : {good + "x", good.substr(1), std::string("x")})
    EXPECT_THAT(read(descriptor(), {}, {}, false, {64, 8}, bad).refusal, HasSubstr("state"));
  EXPECT_THAT(read(descriptor(), {}, {}, false, {65, 8}, good).refusal, HasSubstr("state"));
}

TEST(SheetReader, StopsWhenTheHostSaysSo) {
  const std::string bytes =
      workbook({.rows = row({"a"}) + row({"1"}) + row({"1", "2"}) + row({"3"})});
  for (uint64_t calls = 1; calls <= 2; ++calls) {
    const Heard heard = read(descriptor(), {bytes}, {}, true, {1 << 20, 8, calls});
    EXPECT_EQ(heard.status, GIRDLE_STOP);
    EXPECT_EQ(heard.records.size() + heard.asides.size(), calls);
    EXPECT_THAT(heard.breaches, IsEmpty());
  }
}

TEST(SheetReader, RefusesOptionsThatAreNone) {
  const std::pair<Options, const char*> bad[] = {
      {{{"header", "-1"}}, "header: must be a whole number from 0"},
      {{{"header", "x"}}, "header: must be"},
      {{{"numbers", "rounded"}}, "numbers: must be"},
      {{{"max_bytes", "0"}}, "max_bytes: must be"},
      {{{"max_entries", "0"}}, "max_entries: must be"},
      {{{"max_inflated", "99999999999999999999"}}, "max_inflated: must be"},
      {{{"max_ratio", "1000001"}}, "max_ratio: must be"},
  };
  for (const auto& [options, reason] : bad)
    EXPECT_THAT(read(descriptor(), {}, options).refusal, HasSubstr(reason));
  EXPECT_THAT(read(descriptor(), {}, {}, true, {63, 8}).refusal, HasSubstr("limits"));
}

}  // namespace
}  // namespace girdle::sheet
