// The ledger's tables, and how an older ledger becomes a newer one.
#pragma once

#include "base/result.h"
#include "ledger/sqlite.h"

namespace girdle::ledger {

inline constexpr int64_t kApplicationId = 0x47495244;  // "GIRD", in the file's header: PRAGMA application_id
inline constexpr int64_t kSchemaVersion = 1;           // PRAGMA user_version

// The SQL of version 1; schemas/ledger.sql is the same text.
extern const char kSchema[];

// Makes the tables in an empty file, or migrates an older version forward, in one transaction. Refuses a newer version
// and a file that is no ledger.
base::Result<void> make_or_migrate(Database& database);

// For readers: the version must be this program's.
base::Result<void> check_version(Database& database);

}  // namespace girdle::ledger
