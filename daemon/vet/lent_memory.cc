#include "vet/lent_memory.h"

#include <sys/mman.h>
#include <unistd.h>

#include <cstring>
#include <new>

namespace girdle::vet {
namespace {

size_t page() {
  static const auto kSize = static_cast<size_t>(sysconf(_SC_PAGESIZE));
  return kSize;
}

size_t whole_pages(size_t size) { return (size + page() - 1) / page() * page(); }

}  // namespace

LentMemory::~LentMemory() {
  if (range_) range_->end = range_->begin = 0;
  if (memory_) ::munmap(memory_, room_ + page());
}

void LentMemory::grow(size_t size) {
  const size_t room = whole_pages(size + size / 2 + 1);
  void* const memory =
      ::mmap(nullptr, room + page(), PROT_NONE, MAP_PRIVATE | MAP_ANONYMOUS, -1, 0);
  if (memory == MAP_FAILED) throw std::bad_alloc();
  if (memory_) ::munmap(memory_, room_ + page());
  memory_ = static_cast<char*>(memory);
  room_ = room;
  for (SharedState::Range& range : shared_.lent) {
    uintptr_t unused = 0;
    const auto begin = reinterpret_cast<uintptr_t>(memory_);
    if (!range_ && range.begin.compare_exchange_strong(unused, begin)) range_ = &range;
  }
  if (!range_) return;
  range_->begin = reinterpret_cast<uintptr_t>(memory_);
  range_->end = range_->begin + room_;
}

void LentMemory::protect(int protection) {
  const size_t pages = whole_pages(lent_);
  if (pages > 0) ::mprotect(memory_ + room_ - pages, pages, protection);
}

char* LentMemory::lend(std::string_view bytes) {
  if (bytes.size() > room_ || !memory_) grow(bytes.size());
  lent_ = bytes.size();
  protect(PROT_READ | PROT_WRITE);
  char* const begin = memory_ + room_ - lent_;
  if (lent_ > 0) std::memcpy(begin, bytes.data(), lent_);
  return begin;
}

void LentMemory::take_back() {
  protect(PROT_NONE);
  lent_ = 0;
}

}  // namespace girdle::vet
