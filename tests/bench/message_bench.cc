// How long it takes to write one message, for each kind of body: girdle_message_bench [COUNT]. In
// microseconds of processor time an outcome, with the median of seven rounds.
#include <algorithm>
#include <array>
#include <cstdio>
#include <cstdlib>
#include <ctime>
#include <vector>

#include "delivery/outlet_parts.h"
#include "delivery/webhook_request.h"

namespace girdle::delivery {
namespace {

using Kind = config::Body::Kind;

model::Delivery sample() {
  model::Delivery delivery;
  model::Outcome& outcome = delivery.outcome;
  outcome.case_id = "q1-1042";
  outcome.sequence = 2;
  outcome.site = "quay-street";
  outcome.stock_number = "R1042";
  outcome.decision.disposition = model::Disposition::kRefer;
  outcome.reasons = {{"findings_differ", "The readings differ."},
                     {"seen", "Two readings count: natural by A-0117, laboratory-grown by B-0031."},
                     {"asked", "Two runs are asked of a stone of this size."},
                     {"rule", "Row 4 of the policy: findings that differ go to a laboratory."},
                     {"would_change", "Three more runs that say natural would make it release."}};
  outcome.declared.emplace();
  outcome.declared->identity = model::Finding::kNatural;
  outcome.declared->carat = base::Decimal::parse("0.53");
  outcome.decision.evidence.valid = outcome.decision.evidence.required = 2;
  outcome.policy = {"default", "1", "sha256:" + std::string(64, 'a')};
  outcome.decided_at = base::from_millis(1793614530250);
  return delivery;
}

// Ten fields: words, a time in a form and a zone, a decimal, counts, what may be missing.
Fields ten_fields() {
  config::Leaf time = from("/data/decided_at");
  time.form = "%d.%m.%Y %H:%M:%S";
  time.zone = "Europe/Brussels";
  config::Leaf carat = from("/data/declared/carat");
  carat.decimal_mark = ',';
  const auto word = with_words(from("/data/disposition"), {{"repeat", "AGAIN"},
                                                           {"release", "OK"},
                                                           {"hold", "STOP"},
                                                           {"refer", "LAB"},
                                                           {"reject", "NO"}});
  return fields({{"sku", from("/data/subject/stock_number")},
                 {"place", with_default(from("/data/subject/position"), "-")},
                 {"what", word},
                 {"when", time},
                 {"carat", carat},
                 {"runs", from("/data/readings/valid")},
                 {"missing", from("/data/readings/missing")},
                 {"why", from("/data/reasons/0/text")},
                 {"site", from("/data/site")},
                 {"till", constant("3")}});
}

config::Outlet outlet_of(Kind kind) {
  if (kind == Kind::kForm || kind == Kind::kCsv) return outlet_of_fields(kind, ten_fields());
  if (kind != Kind::kJson && kind != Kind::kXml) return outlet_of_tree(kind, {});
  std::vector<std::pair<std::string, config::Tree>> members;
  for (const auto& [name, leaf] : ten_fields()) members.emplace_back(name.text, tree(leaf));
  return outlet_of_tree(
      kind, kind == Kind::kXml ? object({{"screening", object(members)}}) : object(members));
}

double processor_seconds() { return static_cast<double>(std::clock()) / CLOCKS_PER_SEC; }

void measure(const char* name, const config::Outlet& outlet, bool sign, int count) {
  Reported reported;
  std::vector<Secret> secrets;
  if (sign) secrets.push_back(Secret::parse("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw").value());
  const Url url = parse_url("https://till.example/hooks/screening").value();
  const auto request =
      WebhookRequest::create(url, outlet, base::Zone::utc(), Signer(secrets), reported.report());
  if (!request) {
    std::fprintf(stderr, "%s: %s\n", name, reported.text().c_str());
    std::exit(1);
  }
  const std::vector deliveries{sample()};
  std::string buffer;
  WebhookRequest::Unwritable unwritable;
  std::array<double, 7> rounds{};
  for (double& round : rounds) {
    const double start = processor_seconds();
    for (int i = 0; i < count; ++i) {
      if (!request->write(buffer, deliveries, "", base::from_millis(1793614530000 + i), unwritable))
        std::abort();
    }
    round = (processor_seconds() - start) * 1e6 / count;
  }
  std::sort(rounds.begin(), rounds.end());
  std::printf("%-32s %7.2f us\n", name, rounds[rounds.size() / 2]);
}

void measure_all(int count) {
  measure("cloudevents, signed", outlet_of(Kind::kStructured), true, count);
  measure("cloudevents, unsigned", outlet_of(Kind::kStructured), false, count);
  measure("json of ten fields", outlet_of(Kind::kJson), false, count);
  measure("json of ten fields, signed", outlet_of(Kind::kJson), true, count);
  measure("xml of ten fields", outlet_of(Kind::kXml), false, count);
  measure("form of ten fields", outlet_of(Kind::kForm), false, count);
  measure("csv of ten fields", outlet_of(Kind::kCsv), false, count);
  config::Outlet parts = outlet_of(Kind::kJson);
  parts.webhook.request.path = {from("/data/subject/stock_number")};
  parts.webhook.request.headers = fields({{"x-case", from("/data/case")}});
  measure("the same, with path and header", parts, false, count);
}

}  // namespace
}  // namespace girdle::delivery

int main(int argc, char** argv) {
  girdle::delivery::measure_all(argc > 1 ? std::atoi(argv[1]) : 20'000);
}
