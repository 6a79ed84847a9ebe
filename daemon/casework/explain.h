// Why the answer is what it is, in plain words. Pure: the same decision and the same house give the
// same texts.
#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "casework/house.h"
#include "model/outcome.h"

namespace girdle::casework {

// The reason in plain words: the house's own wording, else ours.
std::string reason_text(std::string_view code, const model::Evidence& evidence, const House& house);

// Whether the code is one of the default policy, or of ours for a policy that has no answer.
bool is_own_reason(std::string_view code);

// The names in braces in a house's wording: "{valid} of {required}" has two. A brace that is not
// closed gives what follows it.
std::vector<std::string> placeholders(std::string_view wording);

// The policy's own reason; then what was `seen`, what was `asked` (the policy and its runs), the
// `rule` that decided, how `probable` the declared identity is and whether the `carat` fits, where
// that is known, and what `would_change` the answer, one entry a step. A case that ended (`is_open`
// false) has no further steps.
std::vector<model::Reason> reasons(const model::Decision& decision, const House& house,
                                   bool is_open);

// Of an outcome that a person decided: that they did, and why; then what was `seen`, what was `asked`, what the policy says
// of the same evidence (`rule`), `probable` and `carat` as above. Nothing says what would change it: the person decides.
std::vector<model::Reason> reasons_by_hand(const model::ByHand& by, const model::Evidence& evidence,
                                           const House& house);

// What the stone may be called by the rules of the house's market; nothing where none is named, or
// the finding is no identity.
std::optional<model::Disclosure> disclosure_of(const model::Evidence& evidence, const House& house);

}  // namespace girdle::casework
