// A reading and a declaration as objects: what lists tell of one.
#pragma once

#include <vector>

#include "base/json.h"
#include "ledger/ledger.h"

namespace girdle::api {

// `duplicates` may be null: they are not told then.
void write_reading(base::JsonWriter& json, ledger::Ledger& ledger, const ledger::ReadingLine& line,
                   const std::vector<ledger::Receipt>* duplicates = nullptr);
void write_declaration(base::JsonWriter& json, const ledger::DeclarationLine& line);

}  // namespace girdle::api
