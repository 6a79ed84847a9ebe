// The outlets of girdled.yaml. The address and the secret are read by delivery/, whose they are;
// service/ puts what is wrong with them beside what is wrong here.
#include <map>

#include "config/parts.h"

namespace girdle::config {
namespace {

constexpr size_t kMostWaits = 100;

Webhook read_webhook(const Section& section, const Desk& desk) {
  Webhook webhook;
  webhook.url = section.text("url");
  webhook.mark = section.mark("url");
  if (const std::string text = section.text("secret_file"); !text.empty()) {
    webhook.secret_file = desk.path(text);
    webhook.secret_mark = section.mark("secret_file");
  }
  webhook.insecure = section.flag("insecure");
  if (const std::string text = section.text("ca_file"); !text.empty()) {
    webhook.ca_file = desk.path(text);
    desk.needs_file(section, "ca_file");
  }
  webhook.timeout = section.duration("timeout");
  return webhook;
}

}  // namespace

std::vector<Outlet> read_outlets(const Section& root, const Desk& desk) {
  std::vector<Outlet> out;
  std::map<std::string, int> lines;
  for (const Section& section : root.sections("outlets")) {
    Outlet outlet;
    outlet.name = section.text("name");
    outlet.mark = section.mark();
    const auto [first, fresh] = lines.emplace(outlet.name, section.mark("name").line);
    if (!fresh && !outlet.name.empty()) {
      desk.problem(section, "name",
                   "the outlet \"" + outlet.name + "\" is here already (line " +
                       std::to_string(first->second) + "); each comes once");
    }
    outlet.webhook = read_webhook(section.section("webhook"), desk);
    outlet.retry = section.durations("retry");
    if (outlet.retry.size() > kMostWaits) {
      desk.problem(section, "retry", "at most " + std::to_string(kMostWaits) + " waits");
    }
    outlet.in_flight = static_cast<int>(section.whole("in_flight"));
    out.push_back(std::move(outlet));
  }
  return out;
}

}  // namespace girdle::config
