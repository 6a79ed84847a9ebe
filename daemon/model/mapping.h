// A mapping, as its YAML file says it: which raw field is which field of ours, its unit, its date form, its words.
// config/ fills it and has checked each part by itself; reading/ compiles and applies it.
#pragma once

#include <map>
#include <string>
#include <vector>

namespace girdle::model {

// 1-based place in a configuration file; 0 = unknown.
struct Mark {
  int line = 0;
  int column = 0;
};

enum class RecordKind { kReading, kDeclaration, kScan };

struct FieldRule {
  std::string field;  // ours: "finding", "carat", "extra.firmware"
  Mark mark;          // of the rule in the file

  // Exactly one of `from` and `constant` is given.
  std::vector<std::string> from;  // raw field names; several are joined by one space
  bool has_constant = false;
  std::string constant;
  Mark constant_mark;  // of the constant in the file

  std::map<std::string, std::string, std::less<>> words;  // raw word to our word; exact
  bool has_words = false;
  std::string form;           // of a time; empty = rfc3339
  std::string zone;           // IANA name for this field; empty = the mapping's, else the site's
  std::string twice;          // "earlier" | "later" | "" (set aside)
  std::string unit;           // carat: ct g mg; *_mm: mm um in; temperature_c: C F; confidence, humidity_pct: 1 percent
  char decimal_mark = '.';    // "." or ","
  char group_mark = '\0';     // none, or one of . , ' and space: refused where the groups are not of three digits
};

struct Mapping {
  std::string file;  // for error texts
  RecordKind record = RecordKind::kReading;
  std::string zone;   // as in FieldRule
  std::string twice;
  std::vector<FieldRule> fields;
};

}  // namespace girdle::model
