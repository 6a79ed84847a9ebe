// A mapping, as its YAML file says it: which raw field is which field of ours, its unit, its date form, its words.
// config/ fills it and has checked each part by itself; reading/ compiles and applies it.
#pragma once

#include <algorithm>
#include <map>
#include <string>
#include <string_view>
#include <vector>

namespace girdle::model {

// 1-based place in a configuration file; 0 = unknown.
struct Mark {
  int line = 0;
  int column = 0;
};

enum class RecordKind { kReading, kDeclaration, kScan };
// In the order of RecordKind.
inline constexpr std::string_view kRecordKindNames[] = {"reading", "declaration", "scan"};

struct FieldRule {
  std::string field;  // ours: "finding", "carat", "extra.firmware"
  Mark mark;          // of the rule in the file

  // Exactly one of `from` and `constant` is given.
  std::vector<std::string> from;  // raw field names
  std::string join = " ";         // stands between the texts of several
  bool has_constant = false;
  std::string constant;
  Mark constant_mark;  // of the constant in the file

  // Application identifiers of GS1, of which the first that is there gives the text; none: the text is no GS1 code.
  std::vector<std::string> gs1;
  Mark gs1_mark;

  // A pattern of RE2 that has to match the whole text, and what is taken of it: a text with groups, \1 to \9 and
  // \g<name>. Empty: any text; all of it, or the pattern's one group.
  std::string match, take;
  Mark match_mark, take_mark;

  std::map<std::string, std::string, std::less<>> words;  // raw word to our word
  bool has_words = false;
  bool fold_case = false, fold_space = false;  // texts that differ only so are one word; else words are exact

  std::string default_value;  // where there is no value; empty = none
  Mark default_mark;

  std::string form;           // of a time; empty = rfc3339
  std::string zone;           // IANA name for this field; empty = the mapping's, else the site's
  std::string twice;          // "earlier" | "later" | "" (set aside)
  std::string unit;           // carat: ct g mg; *_mm: mm um in; temperature_c: C F; confidence, humidity_pct: 1 percent
  char decimal_mark = '.';    // "." or ","
  char group_mark = '\0';     // none, or one of . , ' and space: refused where the groups are not of three digits
};

// Whether a raw field has one of these texts.
struct FieldTest {
  std::string field;  // raw
  std::vector<std::string> texts;
};

// What becomes of one kind of raw records, in a document that holds several.
struct RecordSection {
  Mark mark;
  std::vector<FieldTest> when;  // all hold; none: any record
  std::string ignore;           // in so many words, why its records are no results; empty: they are
  RecordKind record = RecordKind::kReading;
  std::vector<FieldRule> fields;
};

struct Mapping {
  std::string file;  // for error texts
  std::string zone;  // as in FieldRule
  std::string twice;

  // Every raw record becomes one of this kind, unless there are sections.
  RecordKind record = RecordKind::kReading;
  std::vector<FieldRule> fields;
  // Each raw record is for the first that takes it; then `record` and `fields` say nothing.
  std::vector<RecordSection> sections;

  // Whether some of its records are of this kind.
  bool makes(RecordKind kind) const {
    if (sections.empty()) return record == kind;
    return std::any_of(sections.begin(), sections.end(), [kind](const RecordSection& section) {
      return section.ignore.empty() && section.record == kind;
    });
  }
};

}  // namespace girdle::model
