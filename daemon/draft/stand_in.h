// A draft filled in with whatever each field takes, for trying whether records fit it.
//
// Pure; any thread.
#pragma once

#include "draft/mapping_draft.h"
#include "model/mapping.h"

namespace girdle::draft {

// With the likeliest answer to each open point: words become any that their field has, and what has
// no answer becomes a constant. What comes of it is no reading, and goes nowhere.
model::Mapping stand_in(const MappingDraft& draft);

}  // namespace girdle::draft
