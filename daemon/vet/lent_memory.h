// Memory as a reader is lent it: it ends where nothing may be read, and is taken back for good
// after the call. Who reads behind it or later ends by SIGSEGV, and SharedState::lent tells which.
//
// For one thread.
#pragma once

#include <cstddef>
#include <string_view>

#include "vet/trial.h"

namespace girdle::vet {

class LentMemory {
 public:
  explicit LentMemory(SharedState& shared) : shared_(shared) {}
  ~LentMemory();
  LentMemory(const LentMemory&) = delete;
  LentMemory& operator=(const LentMemory&) = delete;

  // A copy of `bytes`, until take_back(). Whoever gives a size that is a multiple of 16 gets memory
  // that begins at one.
  char* lend(std::string_view bytes);
  void take_back();

 private:
  void grow(size_t size);
  void protect(int protection);

  SharedState& shared_;
  SharedState::Range* range_ = nullptr;  // among shared_.lent, if there was one left
  char* memory_ = nullptr;
  size_t room_ = 0;  // without the page behind it
  size_t lent_ = 0;
};

}  // namespace girdle::vet
