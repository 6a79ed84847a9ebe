// Any bytes as a DMN model: a table or reasons why there is none, and a table answers.
#include <cstdlib>

#include "policy/dmn_import.h"

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size) {
  using girdle::policy::Problem;
  using girdle::policy::Value;
  const auto imported = girdle::policy::import_dmn({reinterpret_cast<const char*>(data), size}, "");
  const auto* wrong = std::get_if<std::vector<Problem>>(&imported);
  if (wrong != nullptr) {
    if (wrong->empty()) std::abort();
    return 0;
  }
  const auto compiled = girdle::policy::compile(std::get<girdle::policy::ImportedTable>(imported));
  if (const auto* problems = std::get_if<std::vector<Problem>>(&compiled)) {
    if (problems->empty()) std::abort();
    return 0;
  }
  const auto& table = std::get<girdle::policy::Table>(compiled);
  for (const Value& fact :
       {Value(), Value(girdle::base::Decimal(2)), Value(std::string("natural"))}) {
    const std::vector<Value> facts(table.fact_names().size(), fact);
    (void)table.explain(facts);
  }
  return 0;
}
