#include "vet/report.h"

#include <algorithm>

#include "base/json.h"

namespace girdle::vet {
namespace {

using base::JsonWriter;

void write(JsonWriter& json, const Fault& fault) {
  json.begin_object().member("rule", std::string_view(fault.rule));
  json.member("where", std::string_view(fault.where)).member("what", std::string_view(fault.what));
  json.member("right", std::string_view(fault.right));
  json.member("times", static_cast<int64_t>(fault.times));
  json.member_or_null("input", fault.input).end_object();
}

void write(JsonWriter& json, const Check& check) {
  json.begin_object().member("name", std::string_view(check.name));
  json.member("promise", std::string_view(check.promise));
  json.member("result", text(check.result));
  json.member_or_null("why_left_out", check.why_left_out);
  json.member("tried", static_cast<int64_t>(check.tried));
  json.member("samples", static_cast<int64_t>(check.samples));
  json.member("samples_tried", static_cast<int64_t>(check.samples_tried));
  json.member("milliseconds", check.milliseconds);
  json.key("faults").begin_array();
  for (const Fault& fault : check.faults) write(json, fault);
  json.end_array().key("notes").begin_array();
  for (const std::string& note : check.notes) json.text(note);
  json.end_array().key("measures").begin_array();
  for (const Measure& measure : check.measures) {
    json.begin_object().member("name", std::string_view(measure.name));
    json.member("value", measure.value).member_or_null("unit", measure.unit).end_object();
  }
  json.end_array().end_object();
}

}  // namespace

std::string_view text(Check::Result result) {
  switch (result) {
    case Check::Result::kOk:
      return "ok";
    case Check::Result::kFault:
      return "fault";
    case Check::Result::kLeftOut:
      return "left_out";
  }
  return {};
}

int64_t Check::measured(std::string_view measure) const {
  const auto found = std::find_if(measures.begin(), measures.end(),
                                  [&](const Measure& one) { return one.name == measure; });
  return found == measures.end() ? 0 : found->value;
}

uint64_t Report::faults() const {
  uint64_t faults = 0;
  for (const Check& check : checks) faults += check.faults.size();
  return faults;
}

uint64_t Report::cut_short() const {
  return static_cast<uint64_t>(std::count_if(checks.begin(), checks.end(), [](const Check& check) {
    return check.result == Check::Result::kOk && check.samples_tried < check.samples;
  }));
}

Report::Verdict Report::verdict() const {
  if (faults() > 0) return Verdict::kRefused;
  const bool all = std::all_of(checks.begin(), checks.end(), [](const Check& check) {
    return check.result == Check::Result::kOk;
  });
  return all ? Verdict::kApproved : Verdict::kIncomplete;
}

std::string_view text(Report::Verdict verdict) {
  switch (verdict) {
    case Report::Verdict::kApproved:
      return "approved";
    case Report::Verdict::kRefused:
      return "refused";
    case Report::Verdict::kIncomplete:
      return "incomplete";
  }
  return {};
}

void write_json(std::string& out, const Report& report) {
  JsonWriter json(out);
  json.begin_object().member("girdled", std::string_view(report.program));
  json.key("reader").begin_object();
  json.member_or_null("name", report.name).member_or_null("version", report.version);
  json.member("manifest", std::string_view(report.manifest.native()));
  json.member_or_null("library", report.library.native()).end_object();
  json.key("samples").begin_object().member("count", static_cast<int64_t>(report.samples));
  json.member("bytes", static_cast<int64_t>(report.sample_bytes)).end_object();
  json.key("checks").begin_array();
  for (const Check& check : report.checks) write(json, check);
  json.end_array().member("faults", static_cast<int64_t>(report.faults()));
  json.member("verdict", text(report.verdict())).end_object();
}

}  // namespace girdle::vet
