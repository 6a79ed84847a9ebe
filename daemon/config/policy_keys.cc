// The keys of a policy file and of a decision table.
#include "config/keys.h"

namespace girdle::config {
namespace {

using Words = std::string_view[];
using enum KeyType;

constexpr int64_t kDay = 24 * 3600 * int64_t{1000};

constexpr Key kParameters[] = {
    {.name = "required",
     .type = kWhole,
     .summary = "Valid readings that a case needs",
     .fallback = "2",
     .least = 1,
     .most = 100},
    {.name = "accept_unknown_scope",
     .type = kFlag,
     .summary = "`true`, in so many words: an instrument's unknown scope counts as inside",
     .fallback = "false"},
};
constexpr KeySet kParametersKeys{"parameters", "parameters", kParameters};

constexpr Words kHitPolicies = {"UNIQUE",  "ANY",        "PRIORITY",    "FIRST",
                                "COLLECT", "RULE ORDER", "OUTPUT ORDER"};
constexpr Words kAggregations = {"SUM", "MIN", "MAX", "COUNT"};
constexpr Words kTypes = {"string", "number", "boolean", "date", "time", "date and time", "dateTime",
                          "days and time duration", "years and months duration", "Any"};

constexpr Key kTypeKey{.name = "type",
                       .type = kChoice,
                       .summary = "What values it has; without it any",
                       .choices = kTypes,
                       .may_be_empty = true};
constexpr Key kAllowed{.name = "allowed_values",
                       .type = kText,
                       .summary = "The values that it may have: S-FEEL unary tests; without it all",
                       .may_be_empty = true};

constexpr Key kInput[] = {
    {"expression", kText, "The name of a fact, or arithmetic over facts", true},
    kTypeKey,
    kAllowed,
    {.name = "required",
     .type = kFlag,
     .summary = "`true`: a missing fact is an error, before any rule is tried; else `-` accepts it",
     .fallback = "false"},
};
constexpr KeySet kInputKeys{"an input", "table.inputs[]", kInput};

constexpr Key kOutput[] = {
    {.name = "name",
     .type = kText,
     .summary = "May be left out where there is one output",
     .may_be_empty = true},
    kTypeKey,
    kAllowed,
    {.name = "default",
     .type = kText,
     .summary = "What is given where no rule matches",
     .may_be_empty = true},
};
constexpr KeySet kOutputKeys{"an output", "table.outputs[]", kOutput};

constexpr Key kRule[] = {
    {"when", kCells, "One cell for each input: S-FEEL unary tests, in single quotes", true},
    {"then", kCells, "One cell for each output: a value, in single quotes", true},
    {"note", kConstant, "Why this rule is here"},
};
constexpr KeySet kRuleKeys{"a rule", "table.rules[]", kRule};

constexpr Key kTable[] = {
    {.name = "hit_policy",
     .type = kChoice,
     .summary = "What becomes of the rules that match",
     .fallback = "UNIQUE",
     .choices = kHitPolicies},
    {.name = "aggregation",
     .type = kChoice,
     .summary = "With `COLLECT`: makes one number of all; without it a list",
     .choices = kAggregations,
     .may_be_empty = true},
    {.name = "inputs",
     .type = kMaps,
     .summary = "The columns that are tested",
     .required = true,
     .least = 1,
     .map = &kInputKeys},
    {.name = "outputs",
     .type = kMaps,
     .summary = "The columns that are given",
     .required = true,
     .least = 1,
     .map = &kOutputKeys},
    {.name = "rules",
     .type = kMaps,
     .summary = "The rows",
     .required = true,
     .least = 1,
     .map = &kRuleKeys},
};

constexpr Key kPolicy[] = {
    {"name", kLabel, "Its name; outcomes carry it", true},
    {"version", kLabel, "Its version; outcomes carry it", true},
    {.name = "parameters",
     .type = kMap,
     .summary = "Numbers and switches of the policy",
     .map = &kParametersKeys},
    {.name = "reopen_after",
     .type = kDuration,
     .summary = "Readings of one subject further apart than this begin a new case",
     .fallback = "30d",
     .least = 1,
     .most = 3650 * kDay},
    {.name = "scan_fresh",
     .type = kDuration,
     .summary = "How long a bench's scan names the stone for readings without a stock number",
     .fallback = "2min",
     .least = 1,
     .most = kDay},
    {"reasons", kTextMap, "The house's own wording, by the code of the reason"},
    {.name = "table",
     .type = kMap,
     .summary = "The house's decision table; without it the default one",
     .map = &kTableKeys},
};

constexpr const KeySet* kPolicyPages[] = {&kPolicyKeys, &kParametersKeys, &kTableKeys,
                                          &kInputKeys,  &kOutputKeys,     &kRuleKeys};

}  // namespace

constexpr KeySet kTableKeys{"the table", "table, or a table file by itself", kTable};
constexpr KeySet kPolicyKeys{"the policy", "a policy file", kPolicy};
constexpr std::span<const KeySet* const> kPolicyPage = kPolicyPages;

}  // namespace girdle::config
