#include "framing/astm_session.h"

#include <algorithm>
#include <utility>

namespace girdle::framing {

using config::AstmDeviation;
using Kind = AstmSession::Verdict::Kind;

namespace {

constexpr char kForm = '\x01';  // of saved bytes
constexpr int kNumbers = 8;

std::string switch_for(AstmDeviation deviation) {
  return "; accept: { " + std::string(config::kAstmDeviationNames[static_cast<size_t>(deviation)]) +
         ": true } takes such frames";
}

void append_number(std::string& out, uint64_t value) {
  for (int byte = 0; byte < 8; ++byte) out += static_cast<char>(value >> 8 * byte);
}

// Saved bytes, taken apart from the front.
class Saved {
 public:
  explicit Saved(std::string_view bytes) : bytes_(bytes) {}

  std::string_view take(uint64_t size) {
    if (size > bytes_.size()) {
      is_good_ = false;
      return {};
    }
    const std::string_view taken = bytes_.substr(0, size);
    bytes_.remove_prefix(size);
    return taken;
  }
  uint64_t number() {
    uint64_t value = 0;
    const std::string_view bytes = take(8);
    for (size_t byte = bytes.size(); byte > 0; --byte) {
      value = value << 8 | static_cast<unsigned char>(bytes[byte - 1]);
    }
    return value;
  }
  bool is_whole() const { return is_good_ && bytes_.empty(); }

 private:
  std::string_view bytes_;
  bool is_good_ = true;
};

}  // namespace

AstmSession::AstmSession(const config::Framing& settings)
    : accept_(settings.accept), max_bytes_(settings.max_bytes) {}

void AstmSession::open() {
  close();
  is_open_ = true;
  has_last_ = false;
}

void AstmSession::close() {
  is_open_ = false;
  is_cut_off_ = false;
  frames_ = offset_ = 0;
  rest_.clear();
  reader_.clear();
}

AstmSession::Verdict AstmSession::judge(const AstmFrame& frame) const {
  if (!is_open_ && !accepts(AstmDeviation::kNoEnq)) {
    return {
        Kind::kIgnore,
        "a frame outside of a session: no ENQ came before it" + switch_for(AstmDeviation::kNoEnq),
        {}};
  }
  if (is_repeat(frame)) return {Kind::kRepeat, {}, {}};
  Verdict verdict = judge_number(frame);
  verdict.deviations |= frame.deviations;
  const bool is_too_much = rest_.size() + frame.text.size() > max_bytes_ &&
                           frame.text.find('\r') == std::string_view::npos;
  if (verdict.kind != Kind::kTake || !is_too_much) return verdict;
  return {Kind::kRefuse,
          "the record that goes on in this frame is longer than " + std::to_string(max_bytes_) +
              " bytes; the limit is max",
          {}};
}

bool AstmSession::is_repeat(const AstmFrame& frame) const {
  return has_last_ && frame.number == last_number_ && base::sha256(frame.text) == last_;
}

AstmSession::Verdict AstmSession::judge_number(const AstmFrame& frame) const {
  Verdict verdict;
  const auto with = [&](Kind kind, AstmDeviation deviation) {
    verdict.kind = kind;
    verdict.deviations.set(static_cast<size_t>(deviation));
    return verdict;
  };
  if (!is_open_) return with(Kind::kTake, AstmDeviation::kNoEnq);
  const int due = has_last_ ? (last_number_ + 1) % kNumbers : 1;
  if (frame.number == due) return verdict;
  const bool is_same = has_last_ && frame.number == last_number_;
  if (is_same && accepts(AstmDeviation::kConstantNumber)) {
    return with(Kind::kTake, AstmDeviation::kConstantNumber);
  }
  if (frame.number == 1 && accepts(AstmDeviation::kNoEnq) && accepts(AstmDeviation::kNoEot)) {
    return with(Kind::kBeginAnew, AstmDeviation::kNoEnq);
  }
  // Within a record a number that is left out may stand for a part of it that was lost.
  if (!is_same && rest_.empty() && accepts(AstmDeviation::kSkippedNumber)) {
    return with(Kind::kTake, AstmDeviation::kSkippedNumber);
  }
  verdict.kind = Kind::kRefuse;
  verdict.reason = "the number of this frame is " + std::to_string(frame.number) + " where " +
                   std::to_string(due) + " is due";
  if (is_same) {
    verdict.reason += ", and its text is not that of the frame before";
    verdict.reason += switch_for(AstmDeviation::kConstantNumber);
  } else if (!accepts(AstmDeviation::kSkippedNumber)) {
    verdict.reason += switch_for(AstmDeviation::kSkippedNumber);
  } else {
    verdict.reason += ", in the middle of a record";
  }
  return verdict;
}

void AstmSession::take(const AstmFrame& frame, std::string rest, std::string reader) {
  is_open_ = true;
  has_last_ = true;
  is_cut_off_ = !frame.is_last;
  last_number_ = frame.number;
  last_ = base::sha256(frame.text);
  ++frames_;
  offset_ += text_to_read(frame).size();
  rest_ = std::move(rest);
  reader_ = std::move(reader);
}

std::string AstmSession::save() const {
  std::string out(1, kForm);
  out += static_cast<char>((is_open_ ? 1 : 0) | (has_last_ ? 2 : 0) | (is_cut_off_ ? 4 : 0) |
                           last_number_ << 3);
  out.append(reinterpret_cast<const char*>(last_.data()), last_.size());
  append_number(out, frames_);
  append_number(out, offset_);
  append_number(out, rest_.size());
  out += rest_;
  append_number(out, reader_.size());
  return out + reader_;
}

bool AstmSession::load(std::string_view saved) {
  Saved bytes(saved);
  AstmSession loaded(*this);
  const std::string_view head = bytes.take(2);
  if (head.size() != 2 || head[0] != kForm || (head[1] & ~0x3F) != 0) return false;
  loaded.is_open_ = head[1] & 1;
  loaded.has_last_ = head[1] & 2;
  loaded.is_cut_off_ = head[1] & 4;
  loaded.last_number_ = head[1] >> 3;
  const std::string_view digest = bytes.take(loaded.last_.size());
  std::copy(digest.begin(), digest.end(), loaded.last_.begin());
  loaded.frames_ = bytes.number();
  loaded.offset_ = bytes.number();
  loaded.rest_ = bytes.take(bytes.number());
  loaded.reader_ = bytes.take(bytes.number());
  if (!bytes.is_whole()) return false;
  *this = std::move(loaded);
  return true;
}

std::string text_to_read(const AstmFrame& frame) {
  std::string text(frame.text);
  if (frame.deviations[static_cast<size_t>(AstmDeviation::kNoCr)]) text += '\r';
  return text;
}

}  // namespace girdle::framing
