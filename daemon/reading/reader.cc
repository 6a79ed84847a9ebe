#include "reading/reader.h"

#include <algorithm>

#include "base/text.h"
#include "reading/library_carrier.h"
#include "reading/loaded_reader.h"
#include "reading/process_carrier.h"

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

Result<std::unique_ptr<Carriage>> carry(const Manifest& manifest, const LoadedReader& loaded,
                                        std::optional<Isolation> isolation) {
  if (!isolation) {
    auto library = Library::load(manifest);
    if (!library) return library.error();
    return carry_in_process(std::move(library).value());
  }
  IsolatedReader reader{manifest, loaded.options, loaded.max_record_bytes, kMaxFields};
  auto carriage = carry_to_process(reader, std::move(*isolation));
  if (auto started = carriage->try_start(); !started) return started.error();
  return carriage;
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
  auto loaded = std::make_shared<LoadedReader>(
      LoadedReader{.name = manifest->name,
                   .carriage = nullptr,
                   .options = with_defaults(*manifest, std::move(choice.options)),
                   .lent = {},
                   .mapper = std::move(mapper).value(),
                   .max_record_bytes = std::min(choice.max_record_bytes, kMaxRecordBytes),
                   .declarations = choice.mapping.makes(model::RecordKind::kDeclaration)});
  if (choice.isolation) loaded->stop = choice.isolation->stop;
  auto carriage = carry(*manifest, *loaded, std::move(choice.isolation));
  if (!carriage) return carriage.error();
  loaded->carriage = std::move(carriage).value();
  for (const auto& [name, value] : loaded->options) {
    loaded->lent.push_back({{name.data(), name.size()}, {value.data(), value.size()}});
  }
  std::shared_ptr<Reader> reader(new Reader(std::move(loaded)));
  const auto tried = reader->try_to_begin();
  reader->loaded_->carriage->shut_down();
  if (!tried) return tried.error();
  return reader;
}

// Options that do not go together are told here, and not with the first document.
Result<void> Reader::try_to_begin() {
  auto trial = begin();
  if (!trial) return trial.error();
  model::Records none;
  trial->finish(false, none);
  if (!trial->fault().empty()) return input_error(trial->fault());
  return {};
}

Result<DocumentReading> Reader::begin(std::string_view resume) {
  return DocumentReading::create(loaded_, resume);
}

bool Reader::makes_declarations() const { return loaded_->declarations; }

bool Reader::is_isolated() const { return loaded_->carriage->is_isolated(); }
void Reader::warm_up() { loaded_->carriage->warm_up(); }
ReaderNews Reader::take_news() { return loaded_->carriage->take_news(); }

}  // namespace girdle::reading
