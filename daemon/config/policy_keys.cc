// The keys of a policy file and of a decision table.
#include "config/keys.h"

namespace girdle::config {
namespace {

using Words = std::string_view[];
using enum KeyType;

constexpr int64_t kDay = 24 * 3600 * int64_t{1000};

constexpr int64_t kMostRequired = 100;

constexpr Bounds kShare{"0", "1"};
constexpr Bounds kErrorLimit{.least = "0", .most = "0.5", .with_least = false, .with_most = false};

constexpr Key kParameters[] = {
    {.name = "required",
     .type = kWhole,
     .summary = "Valid readings that a case needs, where the table `required` has no rule for it",
     .fallback = "2",
     .least = 1,
     .most = kMostRequired},
    {.name = "accept_unknown_scope",
     .type = kFlag,
     .summary = "`true`, in so many words: an instrument's unknown scope counts as inside",
     .fallback = "false"},
    {.name = "repeat_correlation",
     .type = kNumber,
     .summary = "How much runs of one instrument on one stone repeat each other: `0` not at all, "
                "`1` all are worth one",
     .fallback = "1",
     .bounds = kShare},
    {.name = "miss_limit",
     .type = kNumber,
     .summary = "How often a stone may be taken as declared though it is something else",
     .fallback = "0.01",
     .bounds = kErrorLimit},
    {.name = "false_alarm_limit",
     .type = kNumber,
     .summary = "How often a stone may be taken as something else though it is what is declared",
     .fallback = "0.05",
     .bounds = kErrorLimit},
    {.name = "confidence",
     .type = kNumber,
     .summary = "Of the intervals around what is computed",
     .fallback = "0.95",
     .bounds = {.least = "0.5", .most = "1", .with_most = false}},
};
constexpr KeySet kParametersKeys{"parameters", "parameters", kParameters};

constexpr Key share_of(std::string_view identity, std::string_view summary) {
  return {.name = identity, .type = kNumber, .summary = summary, .fallback = "0", .bounds = kShare};
}
constexpr Key kPrior[] = {
    {"channel", kLabel, "The channel, as declarations write it; without it every other one"},
    share_of("natural", "The share of natural diamonds; all shares are exactly 1 together"),
    share_of("laboratory_grown", "The share of laboratory-grown diamonds"),
    share_of("treated", "The share of treated diamonds"),
    share_of("composite", "The share of composite stones"),
    share_of("simulant", "The share of simulants"),
    {"source", kText, "Where the shares are from"},
};
constexpr KeySet kPriorKeys{"a prior", "priors[]", kPrior};

constexpr Words kDispositions = {"repeat", "release", "hold", "refer", "reject"};
constexpr Words kAnswers = {"disposition", "reason", "required", "outlets"};
constexpr Key kThen[] = {
    {.name = kAnswers[0],
     .type = kChoice,
     .summary = "What the table must say to do",
     .choices = kDispositions},
    {kAnswers[1], kText, "The code of its reason"},
    {.name = kAnswers[2],
     .type = kWhole,
     .summary = "Readings that such a case needs",
     .least = 1,
     .most = kMostRequired},
    {kAnswers[3], kTexts, "The outlets that hear of it, by name; `[]`: none"},
};
constexpr KeySet kThenKeys{
    .name = "then", .title = "examples[].then", .keys = kThen, .some_of = kAnswers};

constexpr Key kExample[] = {
    {.name = "facts",
     .type = kTextMap,
     .summary = "The facts, by name; others are as of a case without readings",
     .required = true,
     .least = 1},
    {.name = "then",
     .type = kMap,
     .summary = "What the policy must say of them; at least one key",
     .required = true,
     .map = &kThenKeys},
    {"note", kConstant, "Why this example is here"},
};
constexpr KeySet kExampleKeys{"an example", "examples[]", kExample};

constexpr Words kHitPolicies = {"UNIQUE",  "ANY",        "PRIORITY",    "FIRST",
                                "COLLECT", "RULE ORDER", "OUTPUT ORDER"};
constexpr Words kAggregations = {"SUM", "MIN", "MAX", "COUNT"};
constexpr Words kTypes = {"string",
                          "number",
                          "boolean",
                          "date",
                          "time",
                          "date and time",
                          "dateTime",
                          "days and time duration",
                          "years and months duration",
                          "Any"};

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
    {"valid_from", kMoment,
     "From when it holds: a date (its first moment in the site's `timezone`), or a time with its "
     "offset (RFC 3339)"},
    {"approved_by", kLabel, "Who lets it come into force; the ledger keeps it"},
    {"why", kText, "Why it comes into force; the ledger keeps it"},
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
    {.name = "priors",
     .type = kMaps,
     .summary = "How often each identity comes, by channel, before any measurement",
     .map = &kPriorKeys},
    {.name = "reasons",
     .type = kTextMaps,
     .summary = "The house's own wording: by language (BCP 47), by the code of the reason"},
    {.name = "required",
     .type = kMap,
     .summary = "A decision table: how many valid readings a case needs; without it "
                "`parameters.required`",
     .map = &kTableKeys,
     .else_hint = "one number for all is `parameters: { required: … }`"},
    {.name = "table",
     .type = kMap,
     .summary = "The house's decision table; without it the default one",
     .map = &kTableKeys},
    {.name = "routing",
     .type = kMap,
     .summary = "A decision table: which outlets hear of an outcome; without it all",
     .map = &kTableKeys},
    {.name = "examples",
     .type = kMaps,
     .summary = "Facts, and what the policy must say of them; tried whenever it is loaded",
     .map = &kExampleKeys},
};

constexpr const KeySet* kPolicyPages[] = {&kPolicyKeys,  &kParametersKeys, &kPriorKeys,
                                          &kExampleKeys, &kThenKeys,       &kTableKeys,
                                          &kInputKeys,   &kOutputKeys,     &kRuleKeys};

}  // namespace

constexpr KeySet kTableKeys{"the table", "table, required, routing, or a table file by itself",
                            kTable};
constexpr KeySet kPolicyKeys{"the policy", "a policy file", kPolicy};
constexpr std::span<const KeySet* const> kPolicyPage = kPolicyPages;

}  // namespace girdle::config
