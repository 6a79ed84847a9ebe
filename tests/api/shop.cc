#include "api/shop.h"

#include <gtest/gtest.h>

#include "api/body.h"
#include "api/problem.h"
#include "api/route.h"
#include "base/json.h"
#include "ledger/raw.h"

namespace girdle::api {
namespace {

using base::Instant;
using ledger::Ledger;
using ledger::Number;
using model::Disposition;
using model::Evidence;
using model::Finding;

constexpr const char* kName = "k3f9a2b1";
constexpr const char* kSite = "quay-street";
const std::string kDigest = "sha256:" + std::string(64, '7');
constexpr const char* kRules = R"({"policy":"default","required":2})";

template <class Value>
Value must(base::Result<Value> result) {
  EXPECT_TRUE(result.ok()) << (result.ok() ? "" : result.error().text);
  return result.ok() ? std::move(result).value() : Value();
}
void must(const base::Result<void>& result) { EXPECT_TRUE(result.ok()) << (result.ok() ? "" : result.error().text); }

std::string sentence_of(const std::string& code) {
  if (code == "findings_differ") return "The readings differ.";
  if (code == "one_run_more") return "One more run is needed.";
  if (code == "agree") return "All readings agree with what is declared.";
  return code;
}

// The pen of the ledger: numbers go up in the order in which things are written here.
class Pen {
 public:
  explicit Pen(Ledger& ledger) : ledger_(ledger) {}

  void write() {
    must(ledger_.begin());
    names();
    refused_stone();
    released_stone();
    stone_by_hand();
    strays();
    asides();
    must(ledger_.commit());
  }

 private:
  void names() {
    exports_ = must(ledger_.intake("counter-1-exports"));
    posts_ = must(ledger_.intake("counter-1-posts"));
    stock_ = must(ledger_.intake("stock-list"));
    a_ = must(ledger_.instrument("A-0117"));
    b_ = must(ledger_.instrument("B-0042"));
    till_ = must(ledger_.outlet("till"));
    laboratory_ = must(ledger_.outlet("laboratory"));
    must(ledger_.pause_outlet(laboratory_, "the laboratory is closed on Mondays (Kim)", at("08:00:00")));
    house_ = must(ledger_.house({"default", "3", kDigest}, kRules, at("07:00:00")));
    must(ledger_.add_activation({house_, at("07:00:00"), at("00:00:00"), "Kim", "two runs for every stone"}));
    list_ = document(stock_, "stock.csv", at("07:30:00"));
    day_ = document(exports_, "2026-11-02.csv", at("10:16:00"));
    posted_ = document(posts_, "run-0041.json", at("10:20:02"));
    again_ = document(exports_, "2026-11-02 (copy).csv", at("12:00:00"));
  }

  Number document(Number intake, const std::string& name, Instant came_at) {
    model::Document document;
    document.name = name;
    document.digest = base::sha256(name);
    document.size = 120;
    document.came_at = came_at;
    const Number number = must(ledger_.add_document(intake, document, came_at));
    must(ledger_.complete_document(number));
    return number;
  }

  Number subject(const std::string& key) {
    bool fresh = false;
    return must(ledger_.subject(key, &fresh));
  }

  Number reading(Number subject, Number instrument, const std::string& run, Instant measured_at, Finding finding,
                 const std::string& stock, Number from = 0) {
    ledger::StoredReading stored;
    stored.subject = subject;
    stored.instrument = instrument;
    stored.document = from == 0 ? day_ : from;
    stored.intake = stored.document == posted_ ? posts_ : exports_;
    stored.came_at = measured_at + std::chrono::seconds(stored.document == posted_ ? 2 : 30);
    stored.content = ++contents_;
    stored.reading.run = run;
    stored.reading.measured_at = measured_at;
    stored.reading.stock_number = stock;
    stored.reading.finding = finding;
    stored.reading.carat = base::Decimal::parse("0.53");
    stored.reading.operator_name = "Kim";
    stored.reading.place = {static_cast<uint64_t>(contents_) * 60, 60, static_cast<uint32_t>(contents_ + 1)};
    return must(ledger_.add_reading(stored, false));
  }

  Number declaration(Number subject, const std::string& stock, const char* carat) {
    ledger::StoredDeclaration stored;
    stored.came_at = at("07:30:00");
    stored.content = ++contents_;
    stored.declaration.stock_number = stock;
    stored.declaration.identity = Finding::kNatural;
    stored.declaration.carat = base::Decimal::parse(carat);
    stored.declaration.color = "F";
    stored.declaration.place = {40, 40, 2};
    return must(ledger_.add_declaration(subject, list_, stored));
  }

  void outcome(Number subject, int64_t sequence, Disposition disposition, const std::string& reason, int valid,
               Evidence::Common finding, Number declaration, Instant decided_at, std::vector<ledger::Measured> measured,
               std::optional<ledger::Hand> hand = {}) {
    ledger::OutcomeRow row;
    row.case_number = ledger::first_case_of(subject);
    row.sequence = sequence;
    row.decision.disposition = disposition;
    row.decision.reason = reason;
    row.decision.rule = hand ? 0 : 4;
    row.decision.evidence.valid = valid;
    row.decision.evidence.required = 2;
    row.decision.evidence.instruments = 1;
    row.decision.evidence.finding = finding;
    row.decision.evidence.scope = model::Scope::kIn;
    row.decision.evidence.instrument = model::Fitness::kFit;
    row.decision.evidence.declared = Finding::kNatural;
    row.hand = std::move(hand);
    if (sequence > 1) row.previous = Disposition::kRepeat;
    row.measured = std::move(measured);
    row.declaration = declaration;
    row.house = house_;
    row.decided_at = decided_at;
    must(ledger_.add_outcome(row));
  }

  void open_case(Number subject, Instant first, Instant last, int64_t sequence) {
    must(ledger_.put_case({ledger::first_case_of(subject), first, last, ledger::CaseState::kOpen, 0, sequence}, true));
  }

  Number deliver(Number outlet, Number subject, int64_t sequence, Instant when) {
    bool is_head = false;
    return must(ledger_.add_delivery(outlet, ledger::first_case_of(subject), sequence, when, &is_head));
  }

  // One attempt, after which it stands so.
  void mark(Number id, model::DeliveryState state, int status, const std::string& note, const std::string& answer,
            Instant when) {
    auto row = *must(ledger_.delivery(id));
    row.state = state;
    row.attempts += 1;
    row.status = status;
    row.note = note;
    row.changed_at = when;
    row.due = when + std::chrono::minutes(5);
    ledger::AttemptRow attempt;
    attempt.delivery = id;
    attempt.at = when;
    attempt.took = base::Millis(120);
    attempt.status = status;
    attempt.note = note;
    attempt.answer = answer;
    must(ledger_.mark_delivery(row, &attempt));
  }

  // R1042: declared natural; two runs that differ.
  void refused_stone() {
    const Number stone = subject("R1042");
    const Number declared = declaration(stone, "R1042", "0.53");
    const Number first = reading(stone, a_, "41", at("10:15:00"), Finding::kNatural, "R1042");
    const Number second = reading(stone, a_, "42", at("10:20:00"), Finding::kSimulant, "R1042", posted_);
    must(ledger_.add_receipts(Ledger::ReceiptKind::kReading, first, 1, again_, at("12:00:00"), 60));
    open_case(stone, at("10:15:00"), at("10:20:00"), 2);
    outcome(stone, 1, Disposition::kRepeat, "one_run_more", 1, Evidence::Common::kNatural, declared, at("10:16:01"),
            {{first, 0}});
    outcome(stone, 2, Disposition::kRefer, "findings_differ", 2, Evidence::Common::kMixed, declared, at("10:20:03"),
            {{first, 0}, {second, 0}});
    const Number told = deliver(till_, stone, 1, at("10:16:01"));
    mark(told, model::DeliveryState::kSent, 204, "", "", at("10:16:02"));
    const Number refused = deliver(till_, stone, 2, at("10:20:03"));
    mark(refused, model::DeliveryState::kParked, 410, "the till says that it is gone", "no such hook", at("10:20:04"));
    deliver(laboratory_, stone, 2, at("10:20:03"));
  }

  void released_stone() {
    const Number stone = subject("R1043");
    const Number first = reading(stone, a_, "43", at("10:30:00"), Finding::kNatural, "R1043");
    const Number second = reading(stone, a_, "44", at("10:31:00"), Finding::kNatural, "R1043");
    open_case(stone, at("10:30:00"), at("10:31:00"), 1);
    outcome(stone, 1, Disposition::kRelease, "agree", 2, Evidence::Common::kNatural, 0, at("10:31:01"),
            {{first, 0}, {second, 0}});
    deliver(till_, stone, 1, at("10:31:01"));
  }

  // The second stone of a ring, decided by a person.
  void stone_by_hand() {
    const Number stone = subject("R2001#2");
    const Number only = reading(stone, b_, "", at("11:00:00"), Finding::kIndeterminate, "R2001#2");
    open_case(stone, at("11:00:00"), at("11:00:00"), 2);
    outcome(stone, 1, Disposition::kRepeat, "one_run_more", 1, Evidence::Common::kIndeterminate, 0, at("11:00:31"),
            {{only, 0}});
    outcome(stone, 2, Disposition::kRefer, std::string(ledger::kDecidedByHand), 1, Evidence::Common::kIndeterminate, 0,
            at("11:05:00"), {{only, 0}}, ledger::Hand{"Kim", "seen under the microscope", "kim"});
  }

  // A reading that nobody owns, one that was corrected, one by a second route, one that a person bound; and a void one.
  void strays() {
    reading(0, b_, "7", at("11:10:00"), Finding::kNatural, "");
    const Number stone = subject("R3001");
    declaration(stone, "R3001", "1.02");
    must(ledger_.set_reading_links(reading(stone, b_, "8", at("11:11:00"), Finding::kNatural, "R3001"), stone, false,
                                   0));
    const Number bound = reading(subject("R1043"), b_, "9", at("11:12:00"), Finding::kNatural, "");
    ledger::BindingRow binding;
    binding.reading = bound;
    binding.stock_number = "R1043";
    binding.by = {"Kim", "the paper beside it said so", "kim"};
    binding.at = at("11:13:00");
    must(ledger_.add_binding(binding));
    reading(subject("R1043"), a_, "", at("11:12:01"), Finding::kNatural, "R1043");
    reading(0, b_, "10", at("11:14:00"), Finding::kVoid, "");
  }

  void asides() {
    aside(exports_, day_, 300, 6,
          "column \"carat\" holds \"0,53\", which is no number with the decimal mark \".\" and without group marks",
          "45;R1050;0,53;natural", at("10:16:00"));
    aside(exports_, day_, 330, 7,
          "column \"carat\" holds \"1,20\", which is no number with the decimal mark \".\" and without group marks",
          "46;R1051;1,20;natural", at("10:16:00"));
    aside(posts_, posted_, 0, 0, "a line of \"x\" cannot be read", std::string("\xFF\x00{\"run\"", 8), at("10:20:02"));
    must(ledger_.keep_document(day_, "", "45;R1050;0,53;natural\n46;R1051;1,20;natural\n"));
  }

  void aside(Number intake, Number document, uint64_t offset, uint32_t line, const std::string& reason,
             const std::string& bytes, Instant when) {
    model::Aside aside;
    aside.place = {offset, bytes.size(), line};
    aside.reason = reason;
    aside.bytes = bytes;
    must(ledger_.add_aside(intake, document, aside, when));
  }

  Ledger& ledger_;
  Number exports_ = 0, posts_ = 0, stock_ = 0, a_ = 0, b_ = 0, till_ = 0, laboratory_ = 0, house_ = 0;
  Number list_ = 0, day_ = 0, posted_ = 0, again_ = 0;
  int64_t contents_ = 0;
};

std::shared_ptr<House> make_house() {
  auto house = std::make_shared<House>();
  house->site = kSite;
  house->timezone = "Europe/Brussels";
  house->language = "en";
  house->version = "0.1.0";
  house->ledger = kName;
  house->intakes = {{"counter-1-exports", "folder", "delimited", {"reading"}},
                    {"counter-1-posts", "post", "json", {"reading"}},
                    {"stock-list", "folder", "delimited", {"declaration"}}};
  house->instruments = {{"A-0117", "counter-1"}, {"C-0009", ""}};
  house->outlets = {{"till", "webhook"}, {"laboratory", "folder"}, {"archive", "folder"}};
  house->policy = {"default", "3", kDigest, at("00:00:00"), "Kim", "two runs for every stone", kRules};
  return house;
}

Standing make_standing() {
  Standing standing;
  IntakeState exports;
  exports.name = "counter-1-exports";
  exports.up = true;
  exports.documents = 2;
  exports.bytes = 4096;
  exports.known = 1;
  exports.set_aside = 2;
  exports.last_at = at("12:00:00");
  IntakeState stock;
  stock.name = "stock-list";
  stock.trouble = "inbox/stock: Permission denied";
  standing.intakes = {exports, stock};
  OutletState till;
  till.name = "till";
  till.in_flight = 1;
  till.resting = true;
  standing.outlets = {till};
  return standing;
}

// --- what a service would say

struct Told {
  std::string json;
  bool made = false;
};

Told told_of(const Bind& deed) {
  std::string json;
  base::JsonWriter writer(json);
  writer.begin_object().member("reading", deed.reading);
  writer.member("key", std::string_view(model::subject_key(deed.stock_number, deed.position)))
      .key("case")
      .null()
      .end_object();
  return {json};
}
Told told_of(const TryAgain& deed) {
  return {R"({"documents":1,"readings":2,"declarations":0,"settled":)" + std::to_string(deed.asides.size()) +
          R"(,"still_aside":0,"failed":null,"not_kept":[]})"};
}
Told told_of(const Resend&) { return {R"({"again":1,"overtaken":0,"waiting":0})"}; }
Told told_of(const Pause&) { return {R"({"changed":true})"}; }
Told told_of(const Resume&) { return {R"({"changed":true,"waiting":2})"}; }
Told told_of(const Take& deed) {
  std::string json;
  base::JsonWriter writer(json);
  writer.begin_object()
      .member("document", std::string_view(base::digest_text(base::sha256(deed.bytes))))
      .member("known", false);
  writer.member("readings", int64_t{1}).member("duplicates", int64_t{0}).member("corrections", int64_t{0});
  writer.member("declarations", int64_t{0}).member("scans", int64_t{0}).member("ignored", int64_t{0});
  writer.key("set_aside")
      .begin_array()
      .begin_object()
      .member("line", int64_t{3})
      .member("reason", "column \"run\" is empty, and run has to be there");
  writer.end_object().end_array().end_object();
  return {json, true};
}
Told told_of(const Preview&) {
  model::Reading reading;
  reading.instrument = "A-0117";
  reading.run = "45";
  reading.measured_at = at("10:40:00");
  reading.finding = Finding::kNatural;
  reading.place = {0, 60, 1};
  std::string record;
  model::write_json(record, reading);
  return {R"({"records":[{"kind":"reading","record":)" + record +
          R"(}],"set_aside":[{"line":null,"reason":"not JSON","text":"{\"run\""}],"ignored":0})"};
}

}  // namespace

base::Result<model::Outcome> ShopTeller::outcome(Number case_number, int64_t sequence) {
  auto outcome = ledger_->full_outcome(case_number, sequence, kSite);
  if (!outcome) return outcome.error();
  if (outcome->by_hand) {
    outcome->reasons = {{std::string(ledger::kDecidedByHand),
                         "Decided by hand by " + outcome->by_hand->who + ": " + outcome->by_hand->why + "."}};
  } else {
    outcome->reasons = {{outcome->decision.reason, sentence_of(outcome->decision.reason)}};
  }
  return outcome;
}

namespace {

template <class Value>
void put(base::JsonWriter& json, const Value& value) {
  std::string text;
  model::write_json(text, value);
  json.raw(text);
}

void put_receipts(base::JsonWriter& json, const std::vector<ledger::Receipt>& receipts) {
  json.key("duplicates").begin_array();
  for (const auto& receipt : receipts) {
    json.begin_object()
        .member("intake", std::string_view(receipt.intake))
        .member("document", std::string_view(receipt.name));
    json.member("came_at", std::string_view(base::format_rfc3339(receipt.came_at))).end_object();
  }
  json.end_array();
}

}  // namespace

// Short of what the real one tells; in the same shape.
base::Result<std::optional<std::string>> ShopTeller::story(Number case_number) {
  const auto line = must(ledger_->case_line(case_number));
  if (!line) return std::optional<std::string>();
  std::string out;
  base::JsonWriter json(out);
  json.begin_object().key("outcome");
  put(json, must(outcome(case_number, line->row.sequence)));
  json.member("state", "open").member("stock_number", std::string_view(line->key));
  json.member("id", std::string_view(line->case_id))
      .member("key", std::string_view(line->key))
      .key("readings")
      .begin_array();
  for (const auto& stored :
       must(ledger_->readings_of(ledger::subject_of(case_number), line->row.first_at, line->row.last_at))) {
    json.begin_object().member("id", stored.id).key("reading");
    put(json, stored.reading);
    json.member("worth", "counts").member("intake", std::string_view(ledger_->intake_name(stored.intake)));
    json.member("document", std::string_view(ledger_->document_name(stored.document)));
    json.member("came_at", std::string_view(base::format_rfc3339(stored.came_at)));
    put_receipts(json, must(ledger_->receipts_of(Ledger::ReceiptKind::kReading, stored.id)));
    json.end_object();
  }
  json.end_array().key("declarations").begin_array();
  for (const auto& stored : must(ledger_->declarations_of(ledger::subject_of(case_number)))) {
    json.begin_object().key("declaration");
    put(json, stored.declaration);
    json.member("in_force", true).member("intake", "stock-list").member("document", "stock.csv");
    json.member("came_at", std::string_view(base::format_rfc3339(stored.came_at)));
    put_receipts(json, {});
    json.end_object();
  }
  json.end_array().key("outcomes").begin_array();
  for (int64_t sequence = 1; sequence <= line->row.sequence; ++sequence)
    put(json, must(outcome(case_number, sequence)));
  json.end_array();
  json.key("deliveries")
      .raw(R"([{"id":2,"outlet":"till","sequence":2,"state":"parked","attempts":1,"status":410,)"
           R"("note":"the till says that it is gone","due_at":null,"changed_at":"2026-11-02T10:20:04.000Z"}])");
  json.key("would_change")
      .raw(R"([{"step":"one more reading says simulant","disposition":"refer","reason":"most_differ",)"
           R"("text":"If one more reading says simulant: refer."}])");
  json.key("shadow").raw(R"([{"sequence":2,"digest":null,"disposition":"hold","reason":"findings_differ","rule":3}])");
  json.end_object();
  return std::optional<std::string>(out);
}

base::Result<std::optional<std::string>> ShopTeller::story_of(const std::string&) {
  return std::optional<std::string>();
}

base::Result<std::unique_ptr<Teller>> ShopDesk::teller() {
  auto ledger = Ledger::read(ledger_);
  if (!ledger) return ledger.error();
  return std::unique_ptr<Teller>(std::make_unique<ShopTeller>(std::move(ledger).value()));
}

void ShopDesk::act(Deed deed, std::function<void(DeedAnswer)> tell) {
  asked.push_back(deed);
  if (answer) return tell(*answer);
  DeedAnswer told;
  if (const auto* decide = std::get_if<DecideByHand>(&deed)) {
    auto teller = must(this->teller());
    const auto line = must(teller->ledger().case_line(decide->case_number));
    if (!line) {
      told = {DeedAnswer::Kind::kNotFound, "there is no such case", {}, false};
    } else if (line->row.sequence != decide->sequence) {
      told = {DeedAnswer::Kind::kConflict,
              "the case has a later outcome, " + std::to_string(line->row.sequence),
              {},
              false};
    } else {
      model::Outcome outcome = must(teller->outcome(decide->case_number, decide->sequence));
      outcome.sequence += 1;
      outcome.previous = outcome.decision.disposition;
      outcome.decision.disposition = decide->disposition;
      outcome.by_hand = model::ByHand{decide->by.who, decide->by.why};
      outcome.reasons = {
          {std::string(ledger::kDecidedByHand), "Decided by hand by " + decide->by.who + ": " + decide->by.why + "."}};
      outcome.decided_at = at("18:00:00");
      model::write_json(told.json, outcome);
      told.made = true;
    }
  } else {
    std::visit(
        [&](const auto& one) {
          if constexpr (!std::is_same_v<std::decay_t<decltype(one)>, DecideByHand>) {
            Told is = told_of(one);
            told.json = std::move(is.json);
            told.made = is.made;
          }
        },
        deed);
  }
  tell(told);
}

Shop::Shop() {
  temp_.open().reset();
  ledger::execute(temp_.path(), (std::string("UPDATE about SET value = '") + kName + "' WHERE name = 'name'").c_str());
  ledger_ = temp_.open();
  Pen(*ledger_).write();
  desk_ = std::make_unique<ShopDesk>(make_house(), make_standing(), temp_.path());
  teller_ = must(desk_->teller());
}

Shop::~Shop() = default;

Response Shop::ask(const Request& request) {
  const Found found = find_route(routes(), request);
  if (!found.route) return problem(found.status, "no such address, or no such method of it");
  const auto house = desk_->house();
  const Call call{request, found.parts, *house, now()};
  Response response;
  response.status = 0;  // the server's own
  if (found.route->read) response = found.route->read(call, *teller_);
  if (found.route->standing) {
    desk_->standing([&](const Standing& standing) { response = found.route->standing(call, *teller_, standing); });
  }
  if (found.route->deed) {
    found.route->deed(call, *desk_, [&](Response told) { response = std::move(told); });
  }
  return response;
}

Request get(const std::string& address) {
  Request request;
  const size_t mark = address.find('?');
  std::string path = address.substr(0, mark);
  for (size_t at = path.find("%23"); at != std::string::npos; at = path.find("%23")) path.replace(at, 3, "#");
  for (size_t from = 1, to; from < path.size(); from = to + 1) {
    to = std::min(path.find('/', from), path.size());
    request.path.push_back(path.substr(from, to - from));
  }
  for (size_t from = mark == std::string::npos ? address.size() : mark + 1, to; from < address.size(); from = to + 1) {
    to = std::min(address.find('&', from), address.size());
    const std::string one = address.substr(from, to - from);
    const size_t equals = one.find('=');
    request.query.emplace_back(one.substr(0, equals), equals == std::string::npos ? "" : one.substr(equals + 1));
  }
  request.caller = {Role::kAdmin, "kim"};
  return request;
}

Request post(const std::string& address, const std::string& body, const std::string& content_type) {
  Request request = get(address);
  request.method = Method::kPost;
  request.body = body;
  request.content_type = content_type;
  return request;
}

}  // namespace girdle::api
