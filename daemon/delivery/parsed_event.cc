#include "delivery/parsed_event.h"

#include <cstdlib>

namespace girdle::delivery {
namespace {

bool go(const Step& step, simdjson::dom::element& at) {
  if (step.is_place) {
    simdjson::dom::array list;
    return at.get(list) == simdjson::SUCCESS && list.at(step.place).get(at) == simdjson::SUCCESS;
  }
  simdjson::dom::object object;
  return at.get(object) == simdjson::SUCCESS &&
         object.at_key(step.name).get(at) == simdjson::SUCCESS;
}

}  // namespace

void ParsedEvent::read(const model::Outcome& outcome) {
  bytes_.clear();
  model::write_event(bytes_, outcome);
  const size_t size = bytes_.size();
  bytes_.append(simdjson::SIMDJSON_PADDING, '\0');
  const auto* at = reinterpret_cast<const uint8_t*>(bytes_.data());
  const bool read = parser_.parse(at, size, false).get(root_) == simdjson::SUCCESS &&
                    root_["data"].get(data_) == simdjson::SUCCESS;
  if (!read) std::abort();  // JsonWriter writes valid JSON, whatever the texts are
}

std::optional<simdjson::dom::element> ParsedEvent::find(const EventPath& path) const {
  std::span<const Step> steps = path.steps;
  simdjson::dom::element at = root_;
  if (!steps.empty() && steps.front().name == "data") {
    at = data_;
    steps = steps.subspan(1);
  }
  for (const Step& step : steps) {
    if (!go(step, at)) return std::nullopt;
  }
  return at;
}

}  // namespace girdle::delivery
