#include "casework/house.h"

#include <algorithm>

namespace girdle::casework {

HouseTable::HouseTable(policy::Table compiled) : table(std::move(compiled)) {
  // Compiled with our facts only, so each has a place.
  for (const std::string& name : table.fact_names()) places.push_back(place_of(name).value_or(0));
}

policy::Decision HouseTable::evaluate(const model::Evidence& evidence, Settings settings,
                                      const Answer* answer) const {
  std::vector<policy::Value> values;
  values.reserve(places.size());
  for (const size_t place : places) values.push_back(value_at(place, evidence, settings, answer));
  return table.evaluate(values);
}

const InstrumentRules& House::rules_of(std::string_view serial) const {
  static const InstrumentRules kUnknown;
  const auto at = instruments.find(serial);
  return at == instruments.end() ? kUnknown : at->second;
}

const evidence::Priors* House::priors_of(std::string_view channel) const {
  const auto named = std::ranges::find(priors, channel, &ChannelPriors::channel);
  const auto at =
      named == priors.end() ? std::ranges::find(priors, "", &ChannelPriors::channel) : named;
  return at == priors.end() ? nullptr : &at->shares;
}

}  // namespace girdle::casework
