// Which column is which of our fields: by its name where that says something, and by its texts,
// which have to agree.
//
// Pure; any thread.
#pragma once

#include <cstddef>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "draft/columns.h"
#include "model/mapping.h"

namespace girdle::draft {

struct Role {
  std::vector<size_t> columns;  // one; for a time perhaps a date and a time of day
  bool by_name = false;         // else by its texts alone
  std::vector<size_t> others;   // that might be it too, likelier first
};

struct Roles {
  model::RecordKind record = model::RecordKind::kReading;
  std::string why_record;                       // as a comment says it; empty: it was asked for
  std::map<std::string, Role, std::less<>> of;  // by the name of our field
  std::vector<size_t> left;                     // columns without a role, in their order
};

// No column has two roles.
Roles find_roles(const std::vector<Column>& columns, size_t records,
                 std::optional<model::RecordKind> wanted);

// Few words, each coming again, or a name that says so: a column of results.
bool may_be_result(const Column& column, size_t records);

}  // namespace girdle::draft
