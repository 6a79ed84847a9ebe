#include "reading/reader.h"

#include <algorithm>

#include "base/text.h"
#include "reading/loaded_reader.h"

namespace girdle::reading {
namespace {

using base::input_error;
using base::Result;

constexpr uint64_t kMaxRecordBytes = uint64_t{1} << 30;  // as in the ABI

base::Error no_such_reader(const Catalogue& catalogue, const std::string& name) {
  const auto names = catalogue.names();
  const std::string_view near = base::nearest(name, names);
  std::string error = "there is no reader \"";
  error += base::excerpt(name) + "\"";
  if (!near.empty()) {
    error += "; did you mean " + std::string(near) + "?";
  } else if (names.empty()) {
    error += "; no reader was found at all: is girdled installed whole?";
  } else {
    error += "; there is " + base::listed(names);
  }
  return input_error(std::move(error));
}

Options with_defaults(const Manifest& manifest, Options options) {
  for (const OptionRule& rule : manifest.options) {
    const bool given = std::any_of(options.begin(), options.end(),
                                   [&](const auto& o) { return o.first == rule.name; });
    if (!given && rule.default_value) options.emplace_back(rule.name, *rule.default_value);
  }
  return options;
}

}  // namespace

Reader::Reader(std::shared_ptr<LoadedReader> loaded) : loaded_(std::move(loaded)) {}
Reader::~Reader() = default;

Result<std::shared_ptr<Reader>> Reader::open(const Catalogue& catalogue, Choice choice) {
  const Manifest* const manifest = catalogue.find(choice.reader);
  if (!manifest) return no_such_reader(catalogue, choice.reader);
  const auto problems = check_options(*manifest, choice.options);
  if (!problems.empty()) return input_error(problems.front().second);
  auto mapper = Mapper::compile(choice.mapping, choice.timezone, manifest->sparse);
  if (!mapper) return mapper.error();
  auto library = Library::load(*manifest);
  if (!library) return library.error();

  auto loaded = std::make_shared<LoadedReader>(
      LoadedReader{.name = manifest->name,
                   .library = std::move(library).value(),
                   .options = with_defaults(*manifest, std::move(choice.options)),
                   .lent = {},
                   .mapper = std::move(mapper).value(),
                   .max_record_bytes = std::min(choice.max_record_bytes, kMaxRecordBytes),
                   .record = choice.mapping.record});
  for (const auto& [name, value] : loaded->options) {
    loaded->lent.push_back({{name.data(), name.size()}, {value.data(), value.size()}});
  }
  std::shared_ptr<Reader> reader(new Reader(std::move(loaded)));
  // Options that do not go together are told here, and not with the first document.
  auto trial = reader->begin();
  if (!trial) return trial.error();
  return reader;
}

bool Reader::makes_declarations() const {
  return loaded_->record == model::RecordKind::kDeclaration;
}

Result<DocumentReading> Reader::begin(std::string_view resume) {
  return DocumentReading::create(loaded_, resume);
}

}  // namespace girdle::reading
