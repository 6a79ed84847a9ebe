#include "draft/astm_sessions.h"

#include <set>

#include "draft/cut_frames.h"
#include "framing/astm_framer.h"
#include "framing/astm_session.h"

namespace girdle::draft {
namespace {

constexpr char kStx = '\x02', kEnq = '\x05', kEot = '\x04';

class Heard final : public framing::AstmSigns {
 public:
  void enquiry() override {
    ++found.enquiries;
    end();
  }
  void end() override {
    if (!text_.empty()) found.texts.push_back(std::move(text_));
    text_.clear();
  }
  void frame(const framing::AstmFrame& frame) override {
    ++found.frames;
    without_enquiry = without_enquiry || found.enquiries == 0;
    text_ += framing::text_to_read(frame);
  }
  void broken_frame(const framing::Fault& fault) override { add(fault); }
  void junk(const framing::Fault& fault) override { add(fault); }

  AstmSessions found;
  bool without_enquiry = false;
  size_t fault_count = 0;

 private:
  void add(const framing::Fault& fault) {
    ++fault_count;
    keep_fault(fault, found.faults);
  }
  std::string text_;
};

// Deviations that concern a frame by itself, tried in this order.
constexpr std::string_view kFrameDeviations[] = {
    "lower_case", "checksum_with_stx", "checksum_without_end", "no_crlf",
    "no_cr",      "several_records",   "no_checksum"};
using Deviations = std::set<std::string_view>;

Heard hear(std::string_view bytes, const Deviations& accepted) {
  config::Framing settings;
  settings.kind = config::Framing::Kind::kAstm;
  for (size_t i = 0; i < settings.accept.size(); ++i) {
    settings.accept[i] = accepted.contains(config::kAstmDeviationNames[i]);
  }
  Heard heard;
  framing::AstmFramer framer(settings);
  framer.feed(bytes, heard);
  framer.quiet(heard);
  heard.end();
  return heard;
}

// With each deviation accepted by which more comes whole.
Heard hear_most(std::string_view bytes, Deviations& accepted) {
  Heard best = hear(bytes, accepted);
  for (const std::string_view deviation : kFrameDeviations) {
    if (best.fault_count == 0) break;
    Deviations more = accepted;
    more.insert(deviation);
    Heard now = hear(bytes, more);
    if (now.found.frames < best.found.frames || now.fault_count >= best.fault_count) continue;
    accepted = std::move(more);
    best = std::move(now);
  }
  return best;
}

// STX, a number and the letter of a record.
bool begins_frame(std::string_view bytes) {
  for (size_t at = bytes.find(kStx); at != bytes.npos; at = bytes.find(kStx, at + 1)) {
    const std::string_view frame = bytes.substr(at + 1);
    if (frame.size() > 2 && frame[0] >= '0' && frame[0] <= '7' &&
        std::string_view("HPORLCQMS").find(frame[1]) != std::string_view::npos) {
      return true;
    }
  }
  return false;
}

}  // namespace

std::optional<AstmSessions> astm_sessions(std::string_view bytes) {
  if (!begins_frame(bytes) && bytes.find(kEnq) == bytes.npos) return std::nullopt;
  Deviations accepted;
  Heard heard = hear_most(bytes, accepted);
  AstmSessions& found = heard.found;
  if (found.frames == 0 && found.enquiries == 0) return std::nullopt;
  if (found.frames == 0) return std::move(found);
  const auto add = [&](std::string_view name, std::string why) {
    found.deviations.push_back(settled("accept." + std::string(name), "true", std::move(why)));
  };
  for (const std::string_view name : accepted) add(name, "the sender does so");
  if (heard.without_enquiry) add("no_enq", "frames come without an ENQ before them");
  if (bytes.find(kEot) == bytes.npos) add("no_eot", "no EOT came");
  return std::move(found);
}

}  // namespace girdle::draft
