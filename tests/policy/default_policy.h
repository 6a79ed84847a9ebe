// The default policy's disposition table (design, "The default policy": common practice, no
// source), as a table file has it; for tests and measurements.
#pragma once

#include <string>
#include <vector>

#include "policy/table.h"

namespace girdle::policy {

inline TableSpec default_policy_spec() {
  const std::string grown = R"("laboratory_grown", "treated", "composite")";
  const std::string findings =
      R"("natural", "simulant", "indeterminate", "mixed", "none", )" + grown;
  const std::string plain = R"("natural", "none")";
  TableSpec spec;
  spec.hit_policy = "FIRST";
  spec.inputs = {
      {"finding", "string", findings, true},
      {"valid", "number", ">= 0", true},
      {"voids", "number", ">= 0", true},
      {"scope", "string", R"("in", "out", "unknown")", true},
      {"instrument", "string", R"("fit", "unfit", "unknown")", true},
      {"declared", "string", "", true},
  };
  spec.outputs = {{"disposition", "string", R"("reject", "hold", "refer", "repeat", "release")"},
                  {"reason", "string"}};
  const auto rule = [&](std::vector<std::string> when, const std::string& disposition,
                        const std::string& reason) {
    spec.rules.push_back({std::move(when), {'"' + disposition + '"', '"' + reason + '"'}});
  };
  rule({"-", "-", "-", "-", "\"unfit\"", "-"}, "hold", "instrument_unfit");
  rule({"\"none\"", "-", "< 3", "-", "-", "-"}, "repeat", "no_valid_measurement");
  rule({"\"none\"", "-", "-", "-", "-", "-"}, "hold", "cannot_be_measured");
  rule({"\"mixed\"", "-", "-", "-", "-", "-"}, "refer", "findings_differ");
  rule({"-", "-", "-", "\"out\"", "-", "-"}, "refer", "outside_instrument_scope");
  rule({"-", "< required", "-", "-", "-", "-"}, "repeat", "more_readings_needed");
  rule({"\"indeterminate\"", "-", "-", "-", "-", "-"}, "refer", "instrument_cannot_tell");
  rule({"\"simulant\"", "-", "-", "-", "-", "\"simulant\""}, "release", "as_declared");
  rule({"\"simulant\"", "-", "-", "-", "-", "-"}, "reject", "simulant");
  rule({grown, "-", "-", "-", "-", "= finding"}, "release", "as_declared");
  rule({grown, "-", "-", "-", "-", "-"}, "refer", "not_as_declared");
  rule({"\"natural\"", "-", "-", "\"in\"", "-", plain}, "release", "as_declared");
  rule({"\"natural\"", "-", "-", "\"unknown\"", "-", plain}, "hold", "scope_unknown");
  rule({"\"natural\"", "-", "-", "-", "-", "-"}, "hold", "declared_otherwise");
  rule({"-", "-", "-", "-", "-", "-"}, "hold", "no_rule");
  return spec;
}

// In the order in which the compiled table lists its facts: finding, valid, voids, scope,
// instrument, declared, required.
inline std::vector<Value> default_policy_facts(const std::string& finding, int valid, int voids,
                                               const std::string& scope,
                                               const std::string& instrument,
                                               const std::string& declared, int required = 2) {
  return {finding,  base::Decimal(valid),   base::Decimal(voids), scope, instrument,
          declared, base::Decimal(required)};
}

}  // namespace girdle::policy
