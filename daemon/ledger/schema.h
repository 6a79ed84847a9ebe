// The ledger's tables, and how an older ledger becomes a newer one.
#pragma once

#include "base/result.h"
#include "ledger/sqlite.h"

namespace girdle::ledger {

inline constexpr int64_t kApplicationId = 0x47495244;  // "GIRD", in the file's header: PRAGMA application_id
inline constexpr int64_t kSchemaVersion = 4;           // PRAGMA user_version

// The SQL of that version; schemas/ledger.sql is the same text.
extern const char kSchema[];

// Refuses a newer version and a file that is no ledger; an empty one may become one. Changes nothing.
base::Result<void> check_writable(Database& database);

// Makes the tables in an empty file, or migrates an older version forward, in one transaction. Refuses what
// check_writable() refuses.
base::Result<void> make_or_migrate(Database& database);

// For readers: the version must be this program's; an older one is refused with what brings it forward.
base::Result<void> check_version(Database& database);

}  // namespace girdle::ledger
