// Real files, of whose operations the Nth fails: with EIO, as a disk does. Closing never fails
// here.
#pragma once

#include <cerrno>
#include <memory>
#include <string>

#include "intake/files.h"

namespace girdle::intake {

class FaultyFiles final : public Files {
 public:
  // Counted from 1 over all kinds of operations; 0 = none fails.
  uint64_t fail_at = 0;
  uint64_t count = 0;
  // Opening a file of this name fails with this.
  std::string denied;
  int denied_with = EACCES;

  int open_folder(const std::string& path, Descriptor& out) override {
    return fails() ? EIO : real_.open_folder(path, out);
  }
  int list(int folder, std::unique_ptr<Listing>& out) override {
    if (fails()) return EIO;
    std::unique_ptr<Listing> real;
    const int error = real_.list(folder, real);
    if (error == 0) out = std::make_unique<FaultyListing>(*this, std::move(real));
    return error;
  }
  int status_of_path(const std::string& path, FileStatus& out) override {
    return fails() ? EIO : real_.status_of_path(path, out);
  }
  int status_at(int folder, const char* name, FileStatus& out) override {
    return fails() ? EIO : real_.status_at(folder, name, out);
  }
  int status(int file, FileStatus& out) override { return fails() ? EIO : real_.status(file, out); }
  int open_at(int folder, const char* name, Descriptor& out) override {
    if (denied == name) return denied_with;
    return fails() ? EIO : real_.open_at(folder, name, out);
  }
  int read_at(int file, std::span<char> into, uint64_t offset, size_t& got) override {
    return fails() ? EIO : real_.read_at(file, into, offset, got);
  }
  int make_folder_at(int folder, const char* name) override {
    return fails() ? EIO : real_.make_folder_at(folder, name);
  }
  int move_at(int folder, const char* from, const char* to) override {
    return fails() ? EIO : real_.move_at(folder, from, to);
  }

 private:
  class FaultyListing final : public Listing {
   public:
    FaultyListing(FaultyFiles& files, std::unique_ptr<Listing> real)
        : files_(files), real_(std::move(real)) {}
    int next(std::string_view& name) override { return files_.fails() ? EIO : real_->next(name); }

   private:
    FaultyFiles& files_;
    std::unique_ptr<Listing> real_;
  };

  bool fails() { return ++count == fail_at; }

  PosixFiles real_;
};

}  // namespace girdle::intake
