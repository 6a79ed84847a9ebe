// The file of a ledger, past the ledger: for what only SQLite itself can say or do.
#pragma once

#include <gtest/gtest.h>
#include <sqlite3.h>

#include <filesystem>
#include <functional>
#include <string>
#include <vector>

namespace girdle::ledger {

inline void execute(const std::filesystem::path& path, const char* sql) {
  sqlite3* handle = nullptr;
  ASSERT_EQ(sqlite3_open(path.c_str(), &handle), SQLITE_OK);
  ASSERT_EQ(sqlite3_exec(handle, sql, nullptr, nullptr, nullptr), SQLITE_OK) << sqlite3_errmsg(handle);
  sqlite3_close(handle);
}

// Each row as one text, its values as SQL would write them.
inline std::vector<std::string> rows(const std::filesystem::path& path, const std::string& sql) {
  sqlite3* handle = nullptr;
  EXPECT_EQ(sqlite3_open(path.c_str(), &handle), SQLITE_OK);
  sqlite3_stmt* statement = nullptr;
  EXPECT_EQ(sqlite3_prepare_v2(handle, sql.c_str(), -1, &statement, nullptr), SQLITE_OK) << sqlite3_errmsg(handle);
  std::vector<std::string> out;
  while (sqlite3_step(statement) == SQLITE_ROW) {
    std::string& row = out.emplace_back();
    for (int i = 0; i < sqlite3_column_count(statement); ++i) {
      const auto* text = reinterpret_cast<const char*>(sqlite3_column_text(statement, i));
      row += (i == 0 ? "" : " | ") + std::string(text ? text : "NULL");
    }
  }
  sqlite3_finalize(statement);
  sqlite3_close(handle);
  return out;
}

// The first value of the first row.
inline std::string value(const std::filesystem::path& path, const std::string& sql) {
  const auto found = rows(path, sql);
  return found.empty() ? "no row" : found.front();
}

}  // namespace girdle::ledger
