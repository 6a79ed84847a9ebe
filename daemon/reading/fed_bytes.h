// The bytes of a document that may still be asked for: those being fed, and before them those that
// were fed and that the reader has not done with. Places count from the document's first byte.
#pragma once

#include <algorithm>
#include <cstdint>
#include <string>
#include <string_view>

namespace girdle::reading {

class FedBytes {
 public:
  // Of the bytes that are at hand.
  uint64_t begin() const { return begin_; }
  // Of all that was fed.
  uint64_t end() const { return begin_ + tail_.size() - done_ + window_.size(); }

  // More bytes; lent until keep().
  void take(std::string_view bytes) { window_ = bytes; }

  // A copy of what is at hand of a stretch.
  std::string copy(uint64_t offset, uint64_t length) const {
    const uint64_t from = std::max(offset, begin_);
    const uint64_t to = std::min(offset + length, end());
    if (from >= to) return {};
    const std::string_view old = std::string_view(tail_).substr(done_);
    const size_t at = from - begin_, size = to - from;
    std::string out(old.substr(std::min(at, old.size()), size));
    out += window_.substr(at > old.size() ? at - old.size() : 0, size - out.size());
    return out;
  }

  // Nothing before `offset` will be asked for.
  void forget_until(uint64_t offset) {
    const uint64_t gone = offset - begin_;
    const size_t old = tail_.size() - done_;
    begin_ = offset;
    if (gone < old) {
      done_ += gone;
      return;
    }
    tail_.clear();
    done_ = 0;
    window_.remove_prefix(gone - old);
  }

  // The bytes of take() go away: keeps what is left of them.
  void keep() {
    if (done_ > tail_.size() / 2) {
      tail_.erase(0, done_);
      done_ = 0;
    }
    tail_ += window_;
    window_ = {};
  }

 private:
  uint64_t begin_ = 0;
  std::string tail_;
  size_t done_ = 0;  // of tail_, forgotten: taken out when it is worth it
  std::string_view window_;
};

}  // namespace girdle::reading
