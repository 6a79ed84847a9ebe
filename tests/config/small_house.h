// A small configuration in memory that is right as it stands, for tests that make one thing wrong.
#pragma once

#include <string>
#include <vector>

#include "config/files.h"
#include "config/load.h"

namespace girdle::config {

inline constexpr const char* kSmallMapping =
    "record: reading\n"
    "fields:\n"
    "  instrument: { value: A-0117 }\n"
    "  measured_at: { from: time }\n"
    "  finding: { from: result }\n";

inline MemoryFiles small_house(std::string settings) {
  MemoryFiles files;
  files.file("/house/girdled.yaml", std::move(settings));
  files.file("/house/m.yaml", kSmallMapping);
  files.folder("/house").folder("/house/in").folder("/house/in2");
  return files;
}

inline std::vector<std::string> formatted(const Problems& problems) {
  std::vector<std::string> out;
  for (const Problem& problem : problems) out.push_back(format(problem));
  return out;
}

inline std::vector<std::string> problems_in(const Files& files) {
  return formatted(load("/house/girdled.yaml", files).problems);
}

// Of girdled.yaml with these lines after a site and a ledger: they begin on line 3.
inline std::vector<std::string> problems_with(const std::string& lines) {
  return problems_in(small_house("site: quay-street\nledger: { path: l.db }\n" + lines));
}

// Of an intake with this line for its source, which is line 5.
inline std::vector<std::string> problems_with_source(const std::string& line) {
  return problems_with("intakes:\n  - name: a\n    " + line +
                       "\n    reader: json\n    mapping: m.yaml\n");
}

inline Settings settings_with(const std::string& lines) {
  return load("/house/girdled.yaml",
              small_house("site: quay-street\nledger: { path: l.db }\n" + lines))
      .settings;
}

// Of a mapping named by an otherwise right configuration.
inline std::vector<std::string> problems_in_mapping(const std::string& mapping) {
  MemoryFiles files = small_house(
      "site: quay-street\nledger: { path: l.db }\nintakes:\n  - name: a\n    folder: { path: in }\n"
      "    reader: json\n    mapping: m.yaml\n");
  files.file("/house/m.yaml", mapping);
  return problems_in(files);
}

inline std::vector<std::string> problems_in_policy(const std::string& policy) {
  MemoryFiles files = small_house("site: quay-street\nledger: { path: l.db }\npolicy: p.yaml\n");
  files.file("/house/p.yaml", policy);
  return problems_in(files);
}

}  // namespace girdle::config
