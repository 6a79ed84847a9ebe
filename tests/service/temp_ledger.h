// A ledger in a folder of its own that goes with it.
#pragma once

#include <gtest/gtest.h>

#include <cstdlib>
#include <filesystem>
#include <memory>
#include <string>

#include "ledger/ledger.h"

namespace girdle {

class TempFolder {
 public:
  TempFolder() {
    // In memory where the machine has such a folder: tests sync thousands of times.
    const bool shm = std::filesystem::is_directory("/dev/shm");
    std::string name = ((shm ? "/dev/shm" : std::filesystem::temp_directory_path()) / std::filesystem::path("girdle-test-XXXXXX")).string();
    path_ = ::mkdtemp(name.data());
  }
  ~TempFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  TempFolder(const TempFolder&) = delete;
  TempFolder& operator=(const TempFolder&) = delete;

  const std::filesystem::path& path() const { return path_; }

 private:
  std::filesystem::path path_;
};

class TempLedger {
 public:
  std::filesystem::path path() const { return folder_.path() / "ledger.db"; }
  std::unique_ptr<ledger::Ledger> open() {
    auto opened = ledger::Ledger::open(path());
    EXPECT_TRUE(opened.ok()) << (opened ? "" : opened.error().text);
    return opened ? std::move(*opened) : nullptr;
  }

 private:
  TempFolder folder_;
};

}  // namespace girdle
