#include "xml/xml_reader.h"

#include <algorithm>
#include <charconv>
#include <utility>

#include "kit/descriptor.h"
#include "kit/saved_state.h"
#include "kit/setup.h"
#include "kit/text.h"

namespace girdle::xml {

namespace {

constexpr uint64_t kStateVersion = 1;
constexpr size_t kDefaultDepth = 64;
constexpr size_t kMostDepth = 256;

// Nothing where the text is no number from 2 to kMostDepth.
std::optional<size_t> depth_of(std::string_view text) {
  if (text.empty()) return kDefaultDepth;
  size_t depth = 0;
  const auto [at, error] = std::from_chars(text.data(), text.data() + text.size(), depth);
  const bool is_number = error == std::errc() && at == text.data() + text.size();
  if (!is_number || depth < 2 || depth > kMostDepth) return std::nullopt;
  return depth;
}

// An element that leads to the records cannot be one beside them.
bool is_on_the_way(const ElementPath& path) {
  return std::any_of(path.context.begin(), path.context.end(), [&path](const ContextPath& one) {
    return one.element == path.names[path.names.size() - one.levels_up];
  });
}

// The first fault in what the options say; empty where there is none.
std::string read_path(const girdle_reader_setup& setup, ElementPath& path) {
  auto names = path_names(kit::option(setup, "record"));
  if (!names) {
    return "record: must say which elements lead to a record, at most 32, as in "
           "/export/stones/stone";
  }
  path.names = std::move(*names);
  auto context = context_paths(kit::option(setup, "context"), path.names.size());
  if (!context) {
    return "context: must be different ways that begin at an element around the record, at most "
           "32, with commas between, as in ../device/@serial, ../../site?";
  }
  path.context = std::move(*context);
  return is_on_the_way(path) ? "context: names an element that leads to the record" : "";
}

}  // namespace

std::optional<XmlReader::Options> XmlReader::options(const girdle_reader_setup& setup,
                                                     std::string& refusal) {
  Options options;
  refusal = read_path(setup, options.cutter.path);
  if (!refusal.empty()) return std::nullopt;
  const std::string_view repeated = kit::option(setup, "repeated");
  if (!repeated.empty() && repeated != "aside" && repeated != "number") {
    refusal = "repeated: must be aside or number";
    return std::nullopt;
  }
  options.repeated = repeated == "number" ? Repeated::kNumbered : Repeated::kRefused;
  const std::optional<size_t> depth = depth_of(kit::option(setup, "max_depth"));
  if (!depth || *depth < options.cutter.path.names.size()) {
    refusal = "max_depth: must be 2 to 256, and at least as many as record names elements";
    return std::nullopt;
  }
  options.cutter.max_depth = *depth;
  options.cutter.limit = std::min(setup.max_record_bytes, kit::kMostRecordBytes);
  options.fingerprint = kit::Fingerprint()
                            .add(kit::option(setup, "record"))
                            .add(kit::option(setup, "context"))
                            .add(std::to_string(*depth))
                            .value();
  return options;
}

std::unique_ptr<XmlReader> XmlReader::create(const girdle_reader_host& host,
                                             const girdle_reader_setup& setup,
                                             std::string& refusal) {
  return kit::Maker::make<XmlReader>(host, setup, refusal, &XmlReader::options);
}

XmlReader::XmlReader(const girdle_reader_host& host, const girdle_reader_setup& setup,
                     Options options)
    : out_(host, options.cutter.limit),
      options_(std::move(options)),
      fields_(options_.cutter.path, setup.max_fields, options_.repeated),
      stream_(options_.cutter, *this) {}

girdle_status XmlReader::feed(std::string_view bytes) {
  stream_.feed(bytes);
  return out_.status();
}

girdle_status XmlReader::finish() {
  stream_.finish();
  return out_.status();
}

void XmlReader::element(const Element& element) {
  if (const auto fault = fields_.read(element)) {
    out_.aside(element.offset, element.length, element.line, *fault);
    return;
  }
  out_.emit({sizeof(girdle_record), fields_.layout(), element.offset, element.length, element.line,
             fields_.names().size(), fields_.names().data(), fields_.values().data()});
}

void XmlReader::aside(uint64_t offset, uint64_t length, uint64_t line, std::string_view reason) {
  out_.aside(offset, length, line, reason);
}

std::string_view XmlReader::save() {
  if (consumed() == 0 && !resumed_) return {};
  kit::StateWriter state(state_, kStateVersion, options_.fingerprint);
  stream_.save(state);
  return state_;
}

bool XmlReader::resume(std::string_view bytes) {
  kit::StateParser state(bytes, kStateVersion, options_.fingerprint);
  stream_.take_up(state);
  resumed_ = true;
  return state.done();
}

const girdle_reader_descriptor& descriptor() {
  static constexpr girdle_reader_descriptor kDescriptor = kit::describe<XmlReader>("xml", "0.1.0");
  return kDescriptor;
}

}  // namespace girdle::xml
