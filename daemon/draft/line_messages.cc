#include "draft/line_messages.h"

#include <algorithm>
#include <optional>
#include <set>

#include "base/digest.h"
#include "config/settings.h"
#include "draft/astm_sessions.h"
#include "draft/block_checks.h"
#include "draft/cut_frames.h"
#include "draft/evidence.h"

namespace girdle::draft {
namespace {

using base::hex;

using namespace std::string_view_literals;

constexpr size_t kEnoughBits = 24;
constexpr size_t kMostChecksShown = 6;

struct BlockMarks {
  std::string_view start, end;
};
// STX and ETX; the start and end of blocks of the minimal lower layer protocol (HL7).
constexpr BlockMarks kBlockMarks[] = {{"\x02"sv, "\x03"sv}, {"\x0B"sv, "\x1C\x0D"sv}};

Samples as_samples(std::vector<std::string> frames) {
  Samples samples;
  for (std::string& frame : frames) {
    const std::string number = std::to_string(samples.size() + 1);
    samples.push_back(
        {std::string(4 - std::min<size_t>(4, number.size()), '0') + number, std::move(frame)});
  }
  return samples;
}

LineMessages as_lines(std::string_view bytes) {
  // The last line, if its end had not come yet when listening ended, is not told by the framer.
  CutFrames cut = cut_frames(bytes, config::Framing{});
  LineMessages out;
  out.evidence.push_back(counted(cut.frame_count, "line"));
  out.messages = as_samples(std::move(cut.frames));
  out.faults = std::move(cut.faults);
  return out;
}

size_t distinct(const std::vector<std::string>& frames) {
  return std::set<std::string>(frames.begin(), frames.end()).size();
}

std::string shown(const BlockCheck& check) {
  std::vector<std::string> words;
  for (const Setting& key : check.keys()) words.push_back(key.name + ": " + key.value);
  return listed(words, "and");
}

// One of so many ways to compute a check holds by chance, unless the checks of all blocks together
// have bits enough.
void say_check(const std::vector<BlockCheck>& checks, size_t differing, const std::string& blocks,
               LineMessages& out) {
  const BlockCheck& first = checks.front();
  if (checks.size() == 1 && differing * first.bits() >= kEnoughBits) {
    for (Setting& key : first.keys()) out.frame.push_back(std::move(key));
    out.evidence.push_back(blocks + "; the check holds over all of them, of which " +
                           std::to_string(differing) + " differ");
    return;
  }
  std::vector<std::string> names;
  for (const BlockCheck& check : checks) names.push_back(check.name);
  names.erase(std::unique(names.begin(), names.end()), names.end());
  out.frame.push_back(open_setting("check", names, "more blocks would tell"));
  out.evidence.push_back(blocks + ", too few to be certain; over all of them hold:");
  for (size_t i = 0; i < std::min(checks.size(), kMostChecksShown); ++i) {
    out.evidence.push_back("  " + shown(checks[i]));
  }
}

// Blocks with these marks; nothing where there are none.
std::optional<LineMessages> as_blocks(std::string_view bytes, const BlockMarks& marks) {
  const std::string start(marks.start), end(marks.end);
  CutFrames cut = cut_frames(bytes, BlockCheck{}.framing(start, end));
  if (cut.frames.empty()) return std::nullopt;
  LineMessages out;
  out.frame = {settled("kind", "block")};
  if (start != "\x02") out.frame.push_back(settled("start", hex(start)));
  if (end != "\x03") out.frame.push_back(settled("end", hex(end)));
  const std::string blocks =
      counted(cut.frame_count, "block") + " between " + hex(start) + " and " + hex(end);
  std::vector<BlockCheck> checks;
  if (cut.fault_count > 0) checks = checks_that_hold(bytes, start, end);
  if (!checks.empty()) {
    say_check(checks, distinct(cut.frames), blocks, out);
    cut = cut_frames(bytes, checks.front().framing(start, end));
  } else {
    out.evidence.push_back(blocks + (cut.fault_count == 0
                                         ? ", and nothing stands between them"
                                         : "; no check that is known holds over all of them"));
  }
  out.messages = as_samples(std::move(cut.frames));
  out.faults = std::move(cut.faults);
  return out;
}

LineMessages as_astm(AstmSessions astm) {
  LineMessages out;
  out.waits_for_answer = true;
  out.frame = {settled("kind", "astm")};
  out.frame.insert(out.frame.end(), astm.deviations.begin(), astm.deviations.end());
  out.evidence.push_back(astm.frames == 0
                             ? "an instrument asks (ENQ), as ASTM E1381 has it, and gets no answer"
                             : counted(astm.frames, "frame") + " after ASTM E1381, in " +
                                   counted(astm.texts.size(), "session"));
  out.evidence.push_back(
      "such an instrument waits for acknowledgements: girdled run gives them, each after what came "
      "is safe; draft gives none");
  out.messages = as_samples(std::move(astm.texts));
  out.faults = std::move(astm.faults);
  return out;
}

}  // namespace

bool has_frame_marks(std::string_view bytes) {
  const auto is_framed = [&](const BlockMarks& marks) {
    const size_t start = bytes.find(marks.start);
    return start != bytes.npos && bytes.find(marks.end, start) != bytes.npos;
  };
  const std::string_view beginning = bytes.substr(0, 256);
  const bool zeros = beginning.find('\0') != beginning.npos;
  return !zeros && !bytes.starts_with("PK\x03\x04"sv) &&
         (std::any_of(std::begin(kBlockMarks), std::end(kBlockMarks), is_framed) ||
          bytes.starts_with('\x05'));
}

LineMessages messages_of(std::string_view bytes) {
  auto astm = astm_sessions(bytes);
  if (astm && astm->frames > 0) return as_astm(std::move(*astm));
  for (const BlockMarks& marks : kBlockMarks) {
    if (bytes.find(marks.start) == bytes.npos) continue;
    if (auto blocks = as_blocks(bytes, marks)) return std::move(*blocks);
  }
  // An ENQ alone may also be a block's check.
  return astm ? as_astm(std::move(*astm)) : as_lines(bytes);
}

}  // namespace girdle::draft
