// SQLite, as the ledger uses it: prepared statements that are bound by position, and errors as base::Error.
#pragma once

#include <sqlite3.h>

#include <bitset>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>

#include "base/decimal.h"
#include "base/result.h"

namespace girdle::ledger {

class Database {
 public:
  Database() = default;
  ~Database();
  Database(const Database&) = delete;
  Database& operator=(const Database&) = delete;

  base::Result<void> open(const std::string& path, int flags, const char* vfs);
  base::Result<void> execute(const char* sql);
  base::Result<int64_t> number(const char* sql);  // the first column of the first row
  base::Error error(std::string_view doing) const;
  // What is stored cannot be what was written: `what` says which of it, and what is wrong.
  base::Error damage(std::string_view what) const;
  sqlite3* handle() const { return handle_; }

 private:
  sqlite3* handle_ = nullptr;
  std::string path_;
};

// Texts and blobs are lent: they stay as they are until step() returns.
class Statement {
 public:
  Statement() = default;
  ~Statement();
  Statement(const Statement&) = delete;
  Statement& operator=(const Statement&) = delete;

  // `sql` is a text of the program: one that does not compile is a fault of the program or of a damaged schema.
  base::Result<void> prepare(const Database& database, std::string_view sql);
  bool prepared() const { return handle_ != nullptr; }

  // Begins anew, before its first row. Every parameter has to be bound again, at most 64 of them.
  Statement& start();
  Statement& bind(int64_t value);
  Statement& bind(std::string_view text);
  Statement& bind_blob(std::string_view bytes);
  Statement& bind_null();
  Statement& bind(const std::optional<base::Decimal>& value);  // as text
  Statement& bind_text_or_null(std::string_view text);
  Statement& bind_number_or_null(int64_t value);  // 0 is null

  // True: a row is there. False: done. Resets the statement when done or failed.
  base::Result<bool> step();
  base::Result<void> run();
  void reset();

  int64_t number(int column) const { return sqlite3_column_int64(handle_, column); }
  std::string_view text(int column) const;  // until the next step
  std::string_view blob(int column) const;
  bool is_null(int column) const { return sqlite3_column_type(handle_, column) == SQLITE_NULL; }
  int type(int column) const { return sqlite3_column_type(handle_, column); }
  std::optional<base::Decimal> decimal(int column) const;

  base::Error damage(std::string_view what) const { return database_->damage(what); }

 private:
  // The place of the next parameter, which gets a value.
  int next_value();

  static constexpr size_t kMostParameters = 64;

  const Database* database_ = nullptr;
  sqlite3_stmt* handle_ = nullptr;
  int next_ = 0;  // parameters bound since start()
  std::bitset<kMostParameters> has_value_;  // and not null, by place; stays over a reset, as SQLite's bindings do
  bool stepped_ = false;  // since the last reset
  // The texts of bound decimals, which SQLite reads at step(): one statement has at most this many.
  std::string decimals_[12];
  size_t decimals_used_ = 0;
};

// What is read while it lives is of one moment. Within a transaction that is so anyway.
class OneMoment {
 public:
  explicit OneMoment(Database& database) : database_(database), is_ours_(!in_transaction()) {}
  ~OneMoment();
  OneMoment(const OneMoment&) = delete;
  OneMoment& operator=(const OneMoment&) = delete;

  base::Result<void> begin();

 private:
  bool in_transaction() const;

  Database& database_;
  const bool is_ours_;
};

}  // namespace girdle::ledger
