#include "draft/draft.h"

#include <algorithm>
#include <filesystem>

#include "base/text.h"
#include "draft/evidence.h"
#include "draft/line_messages.h"
#include "draft/stand_in.h"
#include "draft/text_lines.h"
#include "draft/write_draft.h"
#include "reading/reader.h"

namespace girdle::draft {
namespace {

constexpr size_t kMostAsidesTold = 5;

// A name as the configuration takes it, of what the person called the sample.
std::string intake_name(const std::string& sample) {
  const std::string stem = std::filesystem::path(sample).stem();
  std::string name;
  for (const char c : stem) {
    const bool fits = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                      c == '.' || c == '_' || c == '-';
    if (name.empty() && (c == '.' || c == '_' || c == '-')) continue;
    if (name.size() < 64) name += fits ? c : '-';
  }
  return name.empty() ? "instrument" : name;
}

// Two copies of one file, the later one with more at its end.
bool grows(const Samples& samples) {
  for (const Sample& a : samples) {
    for (const Sample& b : samples) {
      if (a.bytes.size() < b.bytes.size() && !a.bytes.empty() && b.bytes.starts_with(a.bytes)) {
        return true;
      }
    }
  }
  return false;
}

Source folder_of(const Samples& samples) {
  Source source;
  source.settings.push_back(
      open_setting("path", {}, "the folder into which the instrument writes"));
  const std::string extension = std::filesystem::path(samples.front().name).extension();
  const bool same = std::all_of(samples.begin(), samples.end(), [&](const Sample& sample) {
    return std::filesystem::path(sample.name).extension() == extension;
  });
  const bool plain = extension.find_first_of("*?[\\") == extension.npos;
  if (same && plain && extension.size() > 1) {
    source.settings.push_back(settled("match", "*" + extension));
  }
  source.settings.push_back(
      grows(samples) ? settled("content", "growing", "one sample begins with all of another")
                     : settled("content", "whole", "growing, if lines are added to one file"));
  return source;
}

// A file with what a line carried: which line, nobody said.
Source unknown_line() {
  Source source;
  source.kind = Source::Kind::kSerial;
  source.settings = {
      open_setting("device", {}, "the line's device, best by its name in /dev/serial/by-id"),
      open_setting("baud", {}, "bits a second, as the instrument's manual says")};
  source.evidence = {"the samples are what a line carried",
                     "over a network, in place of serial:  tcp: { connect: HOST:PORT, frame: … }"};
  return source;
}

std::string headline_of(const Samples& samples, size_t records) {
  std::vector<std::string> names;
  for (const Sample& sample : samples) {
    if (names.size() == 5) break;
    names.push_back(std::filesystem::path(sample.name).filename());
  }
  if (samples.size() > names.size()) {
    names.push_back(std::to_string(samples.size() - names.size()) + " more");
  }
  return "Drafted by girdled from " + listed(names, "and") + ": " + counted(records, "record") +
         ". Where FILL_IN stands, only you can know; girdled check names each place.";
}

// Of several lines each as a text of its own.
std::string values_shown(std::string_view value) {
  std::vector<std::string> shown;
  for (const std::string_view line : lines_of(value)) shown.push_back(in_quotes(line));
  return listed(shown, "and");
}

// Whether the records fit the mapping once it is filled in, by the reading's own means.
base::Result<model::Records> read_with(const reading::Catalogue& catalogue, const Chosen& chosen,
                                       const std::optional<reading::Isolation>& isolation,
                                       const MappingDraft& mapping, const Samples& samples) {
  reading::Choice choice;
  choice.reader = chosen.proposal.reader;
  choice.options = tried_options(chosen.proposal);
  choice.mapping = stand_in(mapping);
  choice.timezone = "UTC";
  choice.isolation = isolation;
  auto reader = reading::Reader::open(catalogue, std::move(choice));
  if (!reader) return reader.error();
  model::Records records;
  for (const Sample& sample : samples) {
    auto document = (*reader)->begin();
    if (!document) return document.error();
    document->feed(sample.bytes, records);
    document->finish(true, records);
  }
  return records;
}

class DraftMaker {
 public:
  DraftMaker(const reading::Catalogue& catalogue, Samples samples, const Answers& answers,
             std::optional<Source> source)
      : catalogue_(catalogue),
        samples_(std::move(samples)),
        answers_(answers),
        source_(std::move(source)) {}

  base::Result<Draft> make() {
    out_.name = answers_.name.empty() ? intake_name(samples_.front().name) : answers_.name;
    given_ = samples_;
    if (auto cut = cut_messages(); !cut) return cut.error();
    const Look look = look_at(samples_, source_.has_value(), answers_.options);
    auto chosen = samples_.empty() ? unheard() : choose(catalogue_, look, answers_.reader, answers_.isolation);
    if (!chosen) return chosen.error();
    chosen_ = std::move(chosen).value();
    if (source_) make_one_sample_of(chosen_.trial.records);
    mapping_ = draft_mapping(chosen_.trial.records, answers_.record, chosen_.proposal.serial_hints);
    drop_unused_context();
    out_.records = chosen_.trial.records.size();
    out_.is_clean = chosen_.trial.is_clean() && !samples_.empty();
    tell_what_was_found();
    tell_asides();
    try_mapping();
    write();
    return std::move(out_);
  }

 private:
  // Messages of a line follow each other, and a line's number within each says nothing.
  static void make_one_sample_of(std::vector<RawRecord>& records) {
    for (RawRecord& record : records) {
      record.sample = 0;
      record.line = 0;
    }
  }

  // What came over a line, or has the marks of it, becomes its messages.
  base::Result<void> cut_messages() {
    const bool framed = std::all_of(samples_.begin(), samples_.end(), [](const Sample& sample) {
      return has_frame_marks(sample.bytes);
    });
    if (!source_ && !framed) return {};
    std::string bytes;
    for (const Sample& sample : samples_) bytes += sample.bytes;
    LineMessages line = messages_of(bytes);
    if (!source_) source_ = unknown_line();
    source_->frame = line.frame;
    source_->evidence.insert(source_->evidence.end(), line.evidence.begin(), line.evidence.end());
    out_.remarks = line.evidence;
    for (const std::string& fault : line.faults) problems_.push_back("no message: " + fault);
    if (line.messages.empty() && !line.waits_for_answer) {
      return base::input_error("no message came whole" + (line.evidence.empty()
                                                              ? std::string()
                                                              : "; " + line.evidence.front()));
    }
    samples_ = std::move(line.messages);
    out_.frames = samples_;
    return {};
  }

  // An instrument that waits to be answered has told nothing yet; which reader it needs is known.
  base::Result<Chosen> unheard() {
    out_.remarks.emplace_back(
        "so no record came: the mapping is all open. Name its fields by the instrument's manual "
        "and "
        "plugins/astm/README.md, or draft from a file with what it sends");
    Chosen chosen;
    chosen.proposal.reader = "astm";
    return chosen;
  }

  // Names that a reader brings in from around the records, where no field takes them: one that is
  // missing in some later document would set records aside for nothing.
  void drop_unused_context() {
    auto& options = chosen_.proposal.options;
    const auto at = std::find_if(options.begin(), options.end(),
                                 [](const Setting& option) { return option.name == "context"; });
    if (at == options.end()) return;
    const std::vector<std::string> taken = columns_taken(mapping_);
    std::string kept;
    for (std::string_view rest = at->value; !rest.empty();) {
      const size_t comma = std::min(rest.find(','), rest.size());
      const std::string_view name = base::trimmed(rest.substr(0, comma));
      rest.remove_prefix(std::min(rest.size(), comma + 1));
      const std::string_view field = name.substr(0, name.find('?'));
      const bool used = std::any_of(taken.begin(), taken.end(), [&](const std::string& column) {
        return column == field || column.starts_with(std::string(field) + '/');
      });
      if (used) kept.append(kept.empty() ? "" : ", ").append(name);
    }
    at->value = kept;
    if (kept.empty()) options.erase(at);
  }

  void tell_what_was_found() {
    if (out_.records == 0) return;
    std::string text = chosen_.proposal.reader;
    for (const Setting& option : chosen_.proposal.options) {
      text += ", " + option.name + ' ' + (option.is_open() ? "open" : values_shown(option.value));
    }
    out_.remarks.push_back(text + ": " + counted(out_.records, "record"));
  }

  void tell_asides() {
    const auto& asides = chosen_.trial.asides;
    for (size_t i = 0; i < std::min(asides.size(), kMostAsidesTold); ++i) {
      problems_.push_back("the reader sets aside " + shown(asides[i], samples_));
    }
    if (asides.size() > kMostAsidesTold) {
      problems_.push_back("and " + std::to_string(asides.size() - kMostAsidesTold) + " more");
    }
    out_.remarks.insert(out_.remarks.end(), problems_.begin(), problems_.end());
    out_.is_clean = out_.is_clean && problems_.empty();
  }

  void try_mapping() {
    const auto read = read_with(catalogue_, chosen_, answers_.isolation, mapping_, samples_);
    if (!read) {
      out_.remarks.push_back("the mapping cannot be tried yet: " + read.error().text);
      return;
    }
    const size_t by_reader = chosen_.trial.asides.size();
    if (read->asides.size() <= by_reader) return;
    const auto& first = read->asides;
    // The reader's own were told; the mapping's reasons name columns.
    const auto by_mapping = std::find_if(first.begin(), first.end(), [&](const auto& aside) {
      return std::none_of(chosen_.trial.asides.begin(), chosen_.trial.asides.end(),
                          [&](const RawAside& known) { return known.reason == aside.reason; });
    });
    out_.remarks.push_back(
        "filled in, the mapping would set aside " +
        counted(read->asides.size() - by_reader, "record") +
        (by_mapping == first.end() ? "" : "; the first of them: " + by_mapping->reason));
  }

  void write() {
    ConfigurationParts parts;
    parts.name = out_.name;
    parts.source = source_ ? *source_ : folder_of(given_);
    parts.proposal = chosen_.proposal;
    parts.reader_folder = answers_.reader_folder.string();
    parts.needs_zone = mapping_.has_local_times;
    parts.has_instrument = mapping_.record == model::RecordKind::kReading;
    parts.serials = mapping_.serials;
    parts.problems = problems_;
    const std::string headline = headline_of(given_, out_.records);
    out_.configuration = write_configuration(parts, headline);
    out_.mapping = write_mapping(mapping_, headline);
    out_.open_points = open_points_in(out_.configuration) + open_points_in(out_.mapping);
  }

  const reading::Catalogue& catalogue_;
  Samples samples_;
  const Answers& answers_;
  std::optional<Source> source_;
  Samples given_;  // as they were given

  Chosen chosen_;
  MappingDraft mapping_;
  std::vector<std::string> problems_;
  Draft out_;
};

}  // namespace

base::Result<Draft> make_draft(const reading::Catalogue& catalogue, Samples samples,
                               const Answers& answers, std::optional<Source> source) {
  if (samples.empty()) return base::call_error("there is no sample to draft from");
  return DraftMaker(catalogue, std::move(samples), answers, std::move(source)).make();
}

}  // namespace girdle::draft
