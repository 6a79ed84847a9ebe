#include "framing/astm_framer.h"

#include <algorithm>
#include <optional>

namespace girdle::framing {

using config::AstmDeviation;

namespace {

constexpr char kStx = '\x02', kEtx = '\x03', kEot = '\x04', kEnq = '\x05';
constexpr char kAck = '\x06', kNak = '\x15', kEtb = '\x17';
constexpr size_t kDigits = 2;
constexpr std::string_view kDamaged = "a byte of this frame came with a parity or framing error";

bool is_white(std::string_view bytes) {
  return bytes.find_first_not_of(" \t\r\n\v\f") == std::string_view::npos;
}

// What never stands in a checksum: then there is none, or only half of one.
bool ends_checksum(char byte) {
  return byte == '\r' || byte == '\n' || byte == kStx || byte == kEnq || byte == kEot;
}

std::optional<uint8_t> digit(char c) {
  if (c >= '0' && c <= '9') return static_cast<uint8_t>(c - '0');
  if (c >= 'A' && c <= 'F') return static_cast<uint8_t>(c - 'A' + 10);
  if (c >= 'a' && c <= 'f') return static_cast<uint8_t>(c - 'a' + 10);
  return std::nullopt;
}

uint8_t sum_of(std::string_view bytes) {
  unsigned sum = 0;
  for (const unsigned char byte : bytes) sum += byte;
  return static_cast<uint8_t>(sum);
}

std::string two_digits(uint8_t value) {
  static constexpr char kHex[] = "0123456789ABCDEF";
  return {kHex[value >> 4], kHex[value & 15]};
}

}  // namespace

AstmFramer::AstmFramer(const config::Framing& settings)
    : accept_(settings.accept), max_bytes_(settings.max_bytes) {}

void AstmFramer::feed(std::string_view bytes, AstmSigns& signs) {
  for (const char byte : bytes) take(byte, signs);
}

void AstmFramer::feed_damaged(char byte, AstmSigns& signs) {
  ++offset_;
  if (state_ != State::kBetween) {
    damaged_ = true;
    keep(byte);  // never a mark: what it really was is not known
  } else if (byte == '\0' && bytes_.empty()) {
    bytes_offset_ = offset_;
  } else {
    keep_junk(byte, signs);
  }
}

void AstmFramer::quiet(AstmSigns& signs) {
  if (could_end()) complete(signs);
}

void AstmFramer::reset(std::string_view why, AstmSigns& signs) {
  if (state_ == State::kBetween) {
    tell_junk(signs);
    enter_between();
  } else {
    break_off(why, signs);
  }
}

bool AstmFramer::could_end() const {
  const bool has_check = state_ == State::kCarriageReturn || state_ == State::kLineFeed;
  const bool has_end = state_ == State::kCheck && bytes_.size() == end_at_ + 1;
  return accepts(AstmDeviation::kNoCrlf) &&
         (has_check || (has_end && accepts(AstmDeviation::kNoChecksum)));
}

void AstmFramer::take(char byte, AstmSigns& signs) {
  ++offset_;
  switch (state_) {
    case State::kBetween:
      return between(byte, signs);
    case State::kText:
      return in_text(byte, signs);
    case State::kCheck:
      return in_check(byte, signs);
    case State::kCarriageReturn:
    case State::kLineFeed:
      return behind_check(byte, signs);
  }
}

void AstmFramer::between(char byte, AstmSigns& signs) {
  const bool is_sign = byte == kStx || byte == kEnq || byte == kEot;
  if (!is_sign && (byte != kAck && byte != kNak)) return keep_junk(byte, signs);
  tell_junk(signs);
  enter_between();
  // ACK and NAK answer what nobody asked here: they say nothing.
  if (byte == kStx) begin_frame();
  if (byte == kEnq) signs.enquiry();
  if (byte == kEot) signs.end();
}

void AstmFramer::keep_junk(char byte, AstmSigns& signs) {
  if (told_) return;
  bytes_ += byte;
  if (bytes_.size() < max_bytes_) return;
  told_ = !is_white(bytes_);
  if (told_) signs.junk({"bytes between frames", bytes_, bytes_offset_, true});
  bytes_.clear();
  bytes_offset_ = offset_;
}

void AstmFramer::tell_junk(AstmSigns& signs) {
  if (!told_ && !is_white(bytes_))
    signs.junk({"bytes between frames", bytes_, bytes_offset_, false});
}

void AstmFramer::begin_frame() {
  state_ = State::kText;
  bytes_offset_ = offset_ - 1;
  bytes_ = kStx;
}

void AstmFramer::keep(char byte) {
  // The number stands before the text, and STX before that.
  if (bytes_.size() < max_bytes_ + 2 || state_ != State::kText) {
    bytes_ += byte;
  } else {
    is_too_long_ = true;
  }
}

void AstmFramer::in_text(char byte, AstmSigns& signs) {
  if (byte == kEtx || byte == kEtb) {
    end_at_ = bytes_.size();
    state_ = State::kCheck;
    bytes_ += byte;
    return;
  }
  if (byte != kStx && byte != kEnq && byte != kEot) return keep(byte);
  break_off(byte == kStx   ? "a new frame began before the end of this one"
            : byte == kEnq ? "ENQ came before the end of this frame"
                           : "EOT came before the end of this frame",
            signs);
  between(byte, signs);
}

void AstmFramer::in_check(char byte, AstmSigns& signs) {
  if (ends_checksum(byte)) return behind_check(byte, signs);
  bytes_ += byte;
  if (bytes_.size() == end_at_ + 1 + kDigits) state_ = State::kCarriageReturn;
}

void AstmFramer::behind_check(char byte, AstmSigns& signs) {
  if (byte == '\r' && state_ != State::kLineFeed) {
    state_ = State::kLineFeed;
    return;
  }
  has_cr_lf_ = byte == '\n' && state_ == State::kLineFeed;
  complete(signs);
  if (byte != '\n') between(byte, signs);
}

void AstmFramer::break_off(std::string_view why, AstmSigns& signs) {
  signs.broken_frame({std::string(damaged_ ? kDamaged : why), bytes_, bytes_offset_, is_too_long_});
  enter_between();
}

void AstmFramer::complete(AstmSigns& signs) {
  AstmFrame frame;
  const std::string wrong = judge(frame);
  if (wrong.empty()) {
    signs.frame(frame);
    enter_between();
  } else {
    break_off(wrong, signs);
  }
}

void AstmFramer::enter_between() {
  state_ = State::kBetween;
  bytes_.clear();
  bytes_offset_ = offset_;
  damaged_ = is_too_long_ = has_cr_lf_ = told_ = false;
}

std::string AstmFramer::judge(AstmFrame& frame) const {
  if (damaged_) return std::string(kDamaged);
  if (is_too_long_) {
    return "the text of this frame is longer than " + std::to_string(max_bytes_) +
           " bytes; the frame's limit is max";
  }
  if (end_at_ < 2 || bytes_[1] < '0' || bytes_[1] > '7') {
    return "no number from 0 to 7 stands behind the STX of this frame";
  }
  frame.bytes = bytes_;
  frame.text = frame.bytes.substr(2, end_at_ - 2);
  frame.number = bytes_[1] - '0';
  frame.is_last = bytes_[end_at_] == kEtx;
  frame.stream_offset = bytes_offset_;
  std::string wrong = judge_checksum(frame);
  if (wrong.empty() && !has_cr_lf_) {
    wrong = allow(AstmDeviation::kNoCrlf, "no CR LF stands behind this frame", frame);
  }
  return wrong.empty() ? judge_text(frame) : wrong;
}

std::string AstmFramer::judge_checksum(AstmFrame& frame) const {
  const std::string_view written = frame.bytes.substr(end_at_ + 1);
  if (written.empty()) {
    return allow(AstmDeviation::kNoChecksum, "this frame has no checksum", frame);
  }
  const auto high = digit(written[0]), low = digit(written.size() == kDigits ? written[1] : ' ');
  if (!high || !low) {
    return "what stands behind the end of this frame is no checksum of two hexadecimal digits";
  }
  const auto value = static_cast<uint8_t>(*high << 4 | *low);
  // From the number through ETX or ETB, modulo 256.
  const uint8_t sum = sum_of(frame.bytes.substr(1, end_at_));
  const std::string both =
      "the checksum of this frame is " + two_digits(sum) + ", the line says " + two_digits(value);
  std::string wrong;
  if (value == static_cast<uint8_t>(sum + kStx)) {
    wrong = allow(AstmDeviation::kChecksumWithStx, both + ", which counts STX too", frame);
  } else if (value == static_cast<uint8_t>(sum - bytes_[end_at_])) {
    wrong =
        allow(AstmDeviation::kChecksumWithoutEnd, both + ", which leaves ETX or ETB out", frame);
  } else if (value != sum) {
    wrong = both;
  }
  const bool is_lower =
      std::any_of(written.begin(), written.end(), [](char c) { return c >= 'a'; });
  if (!wrong.empty() || !is_lower) return wrong;
  return allow(AstmDeviation::kLowerCase, "the checksum of this frame has lower-case digits",
               frame);
}

std::string AstmFramer::judge_text(AstmFrame& frame) const {
  std::string_view text = frame.text;
  if (text.ends_with("\r\n")) text.remove_suffix(1);
  const bool is_ended = text.empty() || text.back() == '\r';
  if (!text.empty() && text.substr(0, text.size() - 1).find('\r') != std::string_view::npos) {
    std::string wrong =
        allow(AstmDeviation::kSeveralRecords, "a record ends in the middle of this frame", frame);
    if (!wrong.empty()) return wrong;
  }
  if (is_ended || !frame.is_last) return {};
  if (accepts(AstmDeviation::kSplitRecords)) {
    return allow(AstmDeviation::kSplitRecords, {}, frame);
  }
  return allow(AstmDeviation::kNoCr, "this frame ends with ETX, and its record without CR", frame);
}

std::string AstmFramer::allow(AstmDeviation deviation, std::string_view what,
                              AstmFrame& frame) const {
  const auto which = static_cast<size_t>(deviation);
  frame.deviations.set(which);
  if (accept_[which]) return {};
  return std::string(what) + "; accept: { " + std::string(config::kAstmDeviationNames[which]) +
         ": true } takes such frames";
}

}  // namespace girdle::framing
