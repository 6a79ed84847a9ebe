// What a reader says to its host, with the contract of girdle/reader.h kept in one place: the stop
// is remembered, a stretch longer than the limit is told in pieces, a reason is one line.
//
// Not thread-safe; one for each reader. Texts are lent to the host for the call.
#pragma once

#include <algorithm>
#include <cstdint>
#include <string>
#include <string_view>

#include "girdle/kit/text.h"
#include "girdle/reader.h"

namespace girdle::kit {

class Output {
 public:
  // `host` lives longer than this. `limit` is the host's max_record_bytes, at least 1.
  Output(const girdle_reader_host& host, uint64_t limit) : host_(host), limit_(limit) {}

  // After a stop both do nothing.
  void emit(const girdle_record& record) {
    if (status_ == GIRDLE_OK) status_ = host_.emit(&host_, &record);
  }
  void aside(uint64_t offset, uint64_t length, uint64_t line, std::string_view reason) {
    std::string made;
    if (!is_reason(reason)) {
      append_printable(made, reason, kMostReason);
      reason = made;
    }
    do {
      if (status_ != GIRDLE_OK) return;
      const uint64_t piece = std::min(length, limit_);
      const girdle_aside told = {sizeof(girdle_aside), 0, offset, piece, line, lend(reason)};
      status_ = host_.aside(&host_, &told);
      offset += piece;
      length -= piece;
    } while (length > 0);
  }

  bool stopped() const { return status_ != GIRDLE_OK; }
  // For feed and finish to return. A host that answers with a number it must not use has stopped.
  girdle_status status() const { return status_ == GIRDLE_OK ? GIRDLE_OK : GIRDLE_STOP; }
  uint64_t limit() const { return limit_; }

 private:
  const girdle_reader_host& host_;
  uint64_t limit_;
  girdle_status status_ = GIRDLE_OK;
};

}  // namespace girdle::kit
