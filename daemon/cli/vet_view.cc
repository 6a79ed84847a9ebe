#include "cli/vet_view.h"

#include <algorithm>
#include <ostream>
#include <string_view>

#include "base/text.h"
#include "cli/table_view.h"

namespace girdle::cli {
namespace {

using base::counted;

constexpr size_t kWords = 9;     // where the words below a check begin
constexpr size_t kTexts = 16;    // where their texts begin
constexpr size_t kPromise = 22;  // where a check's promise begins

// A blank that no line is broken at.
constexpr char kBlank = '\x1F';

std::string unbroken(std::string text) {
  std::replace(text.begin(), text.end(), ' ', kBlank);
  return text;
}

std::string painted(const Screen& screen, const char* colour, const std::string& text) {
  return screen.terminal ? std::string("\x1b[") + colour + 'm' + text + "\x1b[0m" : text;
}

std::string word_of(const Screen& screen, vet::Check::Result result) {
  switch (result) {
    case vet::Check::Result::kOk:
      return painted(screen, "32", "ok   ");
    case vet::Check::Result::kFault:
      return painted(screen, "1;31", "FAULT");
    case vet::Check::Result::kLeftOut:
      return dim(screen, "-    ");
  }
  return {};
}

// The text's lines, which begin in column `indent` and end before the screen does. A word that is
// longer than a line stays whole: it may be a path, to be copied.
std::vector<std::string> lines_of(const Screen& screen, size_t indent, std::string_view text) {
  const auto width = static_cast<size_t>(screen.width);
  const size_t room = width < indent + 20 ? std::string_view::npos : width - indent;
  std::vector<std::string> lines{{}};
  while (!text.empty()) {
    const size_t size = std::min(text.find(' '), text.size());
    const std::string_view word = text.substr(0, size);
    text.remove_prefix(std::min(size + 1, text.size()));
    std::string& line = lines.back();
    if (!line.empty() && display_width(line) + 1 + display_width(word) > room) {
      lines.emplace_back(word);
    } else {
      line.append(line.empty() ? "" : " ").append(word);
    }
  }
  for (std::string& line : lines) std::replace(line.begin(), line.end(), kBlank, ' ');
  return lines;
}

std::string amount(const vet::Measure& measure) {
  if (measure.unit == "us") {
    return std::to_string(measure.value / 1000) + '.' + std::to_string(measure.value / 100 % 10) +
           " ms";
  }
  if (measure.value < 1 << 10) return "under 1 KiB";
  return std::to_string(measure.value >> 10) + " KiB";
}

// "1 byte in neither": the first word of a count's name is a plural.
std::string count(const vet::Measure& measure) {
  std::string name = measure.name;
  if (measure.value == 1) name.erase(std::min(name.find(' '), name.size()) - 1, 1);
  return std::to_string(measure.value) + ' ' + name;
}

// "12 records, 3 asides; time for a MiB 8.1 ms": counts before their names, amounts behind them.
std::string measures_of(const vet::Check& check) {
  std::string out;
  for (const vet::Measure& measure : check.measures) {
    out += out.empty() ? "" : ", ";
    out += unbroken(measure.unit.empty() ? count(measure) : measure.name + ' ' + amount(measure));
  }
  return out;
}

// " (29 of 51 samples, 4975 tries)": how much stands behind the result.
std::string behind(const vet::Check& check) {
  std::string out;
  if (check.samples_tried < check.samples)
    out = std::to_string(check.samples_tried) + " of " + counted(check.samples, "sample");
  if (check.tried > 1) out += (out.empty() ? "" : ", ") + std::to_string(check.tried) + " tries";
  return out.empty() ? out : ' ' + unbroken('(' + out + ')');
}

}  // namespace

void VetView::print(const vet::Check& check) {
  const bool left_out = check.result == vet::Check::Result::kLeftOut;
  if (!left_out || check.why_left_out != why_) print_left_out();
  if (!left_out) return print_made(check);
  why_ = check.why_left_out;
  left_out_.push_back(check.name);
}

void VetView::print_made(const vet::Check& check) {
  std::string name = check.name;
  name.resize(kPromise - kWords, ' ');
  const std::string measures = measures_of(check);
  const std::string text =
      check.promise + (measures.empty() ? "" : "; " + measures) + behind(check);
  std::string head = "  " + word_of(screen_, check.result) + "  " + name;
  // What follows the promise is less than it.
  size_t left = check.promise.size();
  for (const std::string& line : lines_of(screen_, kPromise, text)) {
    const size_t size = std::min(left, line.size());
    screen_.out << head << line.substr(0, size);
    if (size < line.size()) screen_.out << dim(screen_, line.substr(size));
    screen_.out << '\n';
    left -= std::min(left, line.size() + 1);
    head.assign(kPromise, ' ');
  }
  for (const vet::Fault& fault : check.faults) print_fault(fault);
  for (const std::string& note : check.notes) print_below("note", note);
  screen_.out.flush();
}

void VetView::print_fault(const vet::Fault& fault) {
  const std::string times = fault.times > 1 ? " (" + std::to_string(fault.times) + " times)" : "";
  print_below("where", fault.where + times);
  print_below("what", fault.what, true);
  print_below("right", fault.right);
  if (!fault.input.empty()) print_below("kept", fault.input);
}

void VetView::print_below(const char* label, const std::string& text, bool is_bold) {
  std::string head = std::string(kWords, ' ') + label;
  head.resize(kTexts, ' ');
  for (const std::string& line : lines_of(screen_, kTexts, text)) {
    screen_.out << dim(screen_, head) << (is_bold ? bold(screen_, line) : line) << '\n';
    head.assign(kTexts, ' ');
  }
}

void VetView::print_left_out() {
  if (left_out_.empty()) return;
  const std::vector<std::string_view> names(left_out_.begin(), left_out_.end());
  std::string head = "  " + word_of(screen_, vet::Check::Result::kLeftOut) + "  ";
  const std::string text = base::listed(names) + " left out: " + why_;
  for (const std::string& line : lines_of(screen_, kWords, text)) {
    screen_.out << head << line << '\n';
    head.assign(kWords, ' ');
  }
  left_out_.clear();
}

void VetView::print_verdict(const vet::Report& report) {
  print_left_out();
  const std::string reader =
      report.name.empty() ? report.manifest.string() : report.name + ' ' + report.version;
  const uint64_t short_checks = report.cut_short();
  switch (report.verdict()) {
    case vet::Report::Verdict::kApproved:
      screen_.out << painted(screen_, "32", reader + ": approved") << ", with "
                  << counted(report.samples, "sample") << " of "
                  << counted(report.sample_bytes, "byte") << '\n';
      break;
    case vet::Report::Verdict::kRefused:
      screen_.out << painted(screen_, "1;31", reader + ": not approved") << ", "
                  << counted(report.faults(), "fault") << '\n';
      break;
    case vet::Report::Verdict::kIncomplete:
      screen_.out << reader
                  << ": nothing wrong in what was looked at; an approval takes all checks\n";
      break;
  }
  if (short_checks > 0)
    screen_.out << counted(short_checks, "check")
                << " had no time for all samples; --time gives more\n";
}

}  // namespace girdle::cli
