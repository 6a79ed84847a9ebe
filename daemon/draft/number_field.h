// The field of a column of numbers: its unit and its decimal mark, where texts or name say them.
//
// Pure; any thread.
#pragma once

#include <string_view>

#include "draft/columns.h"
#include "draft/field_draft.h"

namespace girdle::draft {

// `name`: our field, such as "carat"; `column` holds numbers. `file_mark`: the decimal mark that
// other columns show; '\0' where none does. `said_unit`: what stands beside each number, as XML has
// it in an attribute; empty where nothing does. Without its `from`.
FieldDraft number_field(std::string_view name, const Column& column, char file_mark,
                        std::string_view said_unit);

}  // namespace girdle::draft
