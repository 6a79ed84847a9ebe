// ECMA-376: relationships, part 2, 6.5; the workbook's, part 1, 12.3; sheets, part 1, 18.2.19 and
// 18.2.20; both forms of relationship types, part 1 and part 4.
#include "sheet/workbook.h"

#include <gmock/gmock.h>

#include "plugins/sheet/workbook_file.h"

namespace girdle::sheet {
namespace {

using testing::HasSubstr;

struct Found {
  Workbook book;
  std::string fault;
};

Found find(const std::vector<Part>& all, std::string_view sheet = "1") {
  Found found;
  const std::string bytes = archive(all);
  const auto package = Package::open(bytes, {}, found.fault);
  if (package) found.fault = find_sheet(*package, sheet, {}, found.book);
  return found;
}

Found find(const Book& book, std::string_view sheet = "1") { return find(parts(book), sheet); }

TEST(Workbook, IsFoundByRelationships) {
  const Found found = find(Book{.styles = {"0"}});
  EXPECT_EQ(found.fault, "");
  EXPECT_EQ(found.book.sheet, "xl/worksheets/sheet1.xml");
  EXPECT_EQ(found.book.strings, "xl/sharedStrings.xml");
  EXPECT_EQ(found.book.styles, "xl/styles.xml");
  EXPECT_EQ(find(Book{}).book.styles, "");
}

TEST(Workbook, IsFoundInTheStrictFormToo) {
  std::vector<Part> all = parts({});
  for (Part& part : all) {
    for (size_t at; (at = part.bytes.find(kRelation)) != std::string::npos;)
      part.bytes.replace(at, kRelation.size(),
                         "http://purl.oclc.org/ooxml/officeDocument/relationships/");
  }
  EXPECT_EQ(find(all).fault, "");
}

TEST(Workbook, HasSheetsByNumberOrName) {
  Book book;
  book.sheets =
      "<sheet name='One' sheetId='9' r:id='rId9'/><sheet name='2026' sheetId='3' state='hidden' "
      "r:id='rId1'/><x:sheet xmlns:x='urn:x' name='a &amp; b' q:id='rId8' xmlns:q='urn:q'/>";
  book.relations = "<Relationship Id='rId9' Type='" + std::string(kRelation) +
                   "worksheet' Target='one.xml'/><Relationship Id='rId8' Type='" +
                   std::string(kRelation) + "worksheet' Target='../b.xml'/>";
  EXPECT_EQ(find(book, "1").book.sheet, "xl/one.xml");
  EXPECT_EQ(find(book, "2").book.sheet, "xl/worksheets/sheet1.xml");
  EXPECT_EQ(find(book, "One").book.sheet, "xl/one.xml");
  EXPECT_EQ(find(book, "a & b").book.sheet, "b.xml");
  EXPECT_THAT(find(book, "4").fault,
              HasSubstr("no sheet number 4; there are \"One\", \"2026\", \"a & b\""));
  EXPECT_THAT(find(book, "2026").fault, HasSubstr("no sheet number 2026"));
  EXPECT_THAT(find(book, "one").fault, HasSubstr("no sheet called \"one\""));
}

TEST(Workbook, FollowsNoLinkOutside) {
  Book book;
  book.sheets = "<sheet name='Far' r:id='rId9'/>";
  book.relations = "<Relationship Id='rId9' TargetMode='External' Type='" + std::string(kRelation) +
                   "worksheet' Target='https://sheets.example/1.xml'/>";
  EXPECT_THAT(find(book).fault, HasSubstr("lies outside"));
  book.relations = "<Relationship Id='rId9' Type='" + std::string(kRelation) +
                   "worksheet' Target='../../../etc/one.xml'/>";
  EXPECT_THAT(find(book).fault, HasSubstr("lies outside"));
}

TEST(Workbook, SaysWhatASheetIsThatHoldsNoRows) {
  Book book;
  book.sheets = "<sheet name='Bars' r:id='rId9'/>";
  book.relations =
      "<Relationship Id='rId9' Type='" + std::string(kRelation) + "chartsheet' Target='c.xml'/>";
  EXPECT_THAT(find(book).fault, HasSubstr("\"Bars\" holds no rows: it is a chartsheet"));
  book.sheets = "<sheet name='Lost' r:id='rId7'/>";
  EXPECT_THAT(find(book).fault, HasSubstr("\"Lost\" leads nowhere"));
  book.sheets = "<sheet name='Unlinked' sheetId='1'/>";
  EXPECT_THAT(find(book).fault, HasSubstr("\"Unlinked\" leads nowhere"));
}

TEST(Workbook, CountsDaysFromWhatItSays) {
  const auto base = [](const std::string& properties) {
    return find(Book{.properties = properties}).book.dates;
  };
  EXPECT_EQ(base(""), DateBase::k1900);
  EXPECT_EQ(base("date1904='1'"), DateBase::k1904);
  EXPECT_EQ(base("date1904='true'"), DateBase::k1904);
  EXPECT_EQ(base("date1904='0'"), DateBase::k1900);
  EXPECT_EQ(base("dateCompatibility='0'"), DateBase::k1900WithoutGap);
  EXPECT_EQ(base("dateCompatibility='1'"), DateBase::k1900);
}

TEST(Workbook, IsNoneWhereSomethingElseIsPacked) {
  EXPECT_THAT(find({Part{"mimetype", "application/vnd.oasis.opendocument.spreadsheet"}}).fault,
              HasSubstr("holds something else"));
  std::vector<Part> binary = parts({});
  binary[0].bytes.replace(binary[0].bytes.find("workbook.xml"), 12, "workbook.bin");
  EXPECT_THAT(find(binary).fault, HasSubstr("(.xlsb)"));
  std::vector<Part> text = parts({});
  text[1].bytes = "<document/>";
  EXPECT_THAT(find(text).fault, HasSubstr("xl/workbook.xml: line 1: the outermost element is"));
}

TEST(Workbook, TargetsLeadFromThePartThatNamesThem) {
  EXPECT_EQ(resolved("xl/workbook.xml", "worksheets/sheet1.xml"), "xl/worksheets/sheet1.xml");
  EXPECT_EQ(resolved("xl/workbook.xml", "/xl/sheet1.xml"), "xl/sheet1.xml");
  EXPECT_EQ(resolved("xl/workbook.xml", "../sheet1.xml"), "sheet1.xml");
  EXPECT_EQ(resolved("xl/a/b.xml", "./../c//d.xml"), "xl/c/d.xml");
  EXPECT_EQ(resolved("", "xl/workbook.xml"), "xl/workbook.xml");
  EXPECT_EQ(resolved("xl/workbook.xml", "../../x.xml"), "");
}

}  // namespace
}  // namespace girdle::sheet
