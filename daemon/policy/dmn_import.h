// Decision tables out of DMN XML, versions 1.3, 1.4 and 1.5, so that a table drawn in a modeller
// runs.
//
// Sources: DMN 1.5 clauses 6.3, 7.3 and 8.3 and its XML schema. What is read is one decision whose
// logic is a decision table; decisions and input data that it requires are facts to hand over. What
// else a model holds is passed over, what the table itself has beyond S-FEEL is refused with its
// place. Bounded, see below; no document type, so no entities but the five of XML; nothing outside
// the text is looked at. Pure; any thread.
#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "policy/table.h"
#include "policy/table_spec.h"

namespace girdle::policy {

inline constexpr size_t kMaxDmnBytes = size_t{16} << 20;
inline constexpr int kMaxDmnDepth = 64;
inline constexpr size_t kMaxDmnNodes = 1'000'000;
inline constexpr size_t kMaxDmnAttributes = 256;  // of one element
inline constexpr size_t kMaxDmnFacts = 1'000;

struct ImportedTable {
  struct Fact {
    std::string name;  // of a part of structured data: "Applicant.age"
    std::optional<Type> type;
  };
  std::string decision;
  TableSpec spec;
  // What the decision requires; empty where the model does not say, and then every name is taken to
  // be a fact.
  std::vector<Fact> facts;
};

// `decision` is a name, and may be empty where the model has one table. `xml` is UTF-8.
std::variant<ImportedTable, std::vector<Problem>> import_dmn(std::string_view xml,
                                                             std::string_view decision);

std::variant<Table, std::vector<Problem>> compile(const ImportedTable& imported);

}  // namespace girdle::policy
