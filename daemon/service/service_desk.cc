#include "service/service_desk.h"

#include <algorithm>
#include <set>

#include "base/json.h"
#include "base/overload.h"
#include "base/text.h"
#include "service/house_shelf.h"
#include "service/story.h"

namespace girdle::service {
namespace {

using api::DeedAnswer;
using base::JsonWriter;
using base::Result;
using Kind = DeedAnswer::Kind;

constexpr size_t kMostShown = 200;  // records, and places that were set aside, of a preview or an answer

std::string_view kind_of(const config::Intake& intake) {
  constexpr std::string_view kKinds[] = {"folder", "serial", "tcp", "post"};
  return kKinds[intake.source.index()];
}

std::vector<std::string> makes(const model::Mapping& mapping) {
  using enum model::RecordKind;
  constexpr std::pair<model::RecordKind, std::string_view> kKinds[] = {
      {kReading, "reading"}, {kDeclaration, "declaration"}, {kScan, "scan"}};
  std::vector<std::string> words;
  for (const auto& [kind, word] : kKinds) {
    if (mapping.makes(kind)) words.emplace_back(word);
  }
  return words;
}

std::shared_ptr<api::House> house_of(const Checked& checked) {
  auto house = std::make_shared<api::House>();
  const config::Settings& settings = checked.settings;
  house->site = settings.site;
  house->timezone = settings.timezone;
  house->language = settings.language;
  house->version = GIRDLE_VERSION;
  for (const config::Intake& intake : settings.intakes) {
    house->intakes.push_back({intake.name, std::string(kind_of(intake)), intake.reader, makes(intake.mapping)});
  }
  for (const config::Instrument& instrument : settings.instruments) {
    house->instruments.push_back({instrument.serial, instrument.bench});
  }
  for (const config::Outlet& outlet : settings.outlets) {
    house->outlets.push_back({outlet.name, outlet.folder ? "folder" : "webhook"});
  }
  const model::PolicyStamp& stamp = checked.rules->house->stamp;
  house->policy = {stamp.name, stamp.version, stamp.digest, checked.rules->valid_from, checked.rules->approved_by,
                   checked.rules->why, checked.rules->text};
  return house;
}

DeedAnswer refusal_of(Kind kind, std::string text) {
  DeedAnswer answer;
  answer.kind = kind;
  answer.text = std::move(text);
  return answer;
}

DeedAnswer not_durable() { return refusal_of(Kind::kFailed, "the service ended before the disk had it; ask again whether it is done"); }

DeedAnswer no_room() { return refusal_of(Kind::kBusy, "there is much to read at the moment; try again in a few seconds"); }

void write_asides(JsonWriter& json, const std::vector<model::Aside>& asides, bool with_text) {
  json.key("set_aside").begin_array();
  for (size_t i = 0; i < std::min(asides.size(), kMostShown); ++i) {
    json.begin_object().key("line");
    asides[i].place.line == 0 ? json.null() : json.number(static_cast<int64_t>(asides[i].place.line));
    json.member("reason", std::string_view(asides[i].reason));
    if (with_text) json.member("text", std::string_view(asides[i].bytes));
    json.end_object();
  }
  json.end_array();
}

template <class Records>
void write_records(JsonWriter& json, std::string_view kind, const Records& records, size_t& room) {
  for (const auto& record : records) {
    if (room == 0) return;
    --room;
    std::string text;
    model::write_json(text, record);
    json.begin_object().member("kind", kind).key("record").raw(text).end_object();
  }
}

int64_t ignored_in(const model::Records& records) {
  uint64_t count = 0;
  for (const model::Ignored& ignored : records.ignored) count += ignored.count;
  return static_cast<int64_t>(count);
}

std::string preview_json(const model::Records& records) {
  std::string out;
  JsonWriter json(out);
  json.begin_object().key("records").begin_array();
  size_t room = kMostShown;
  write_records(json, "reading", records.readings, room);
  write_records(json, "declaration", records.declarations, room);
  write_records(json, "scan", records.scans, room);
  json.end_array();
  write_asides(json, records.asides, true);
  json.member("ignored", ignored_in(records)).end_object();
  return out;
}

std::string taken_json(const base::Digest& digest, bool known, const RecordCounts& counts,
                       const std::vector<model::Aside>& asides) {
  std::string out;
  JsonWriter json(out);
  const auto number = [&](std::string_view name, uint64_t value) { json.member(name, static_cast<int64_t>(value)); };
  json.begin_object().member("document", std::string_view(base::digest_text(digest))).member("known", known);
  number("readings", counts.readings);
  number("duplicates", counts.duplicates + counts.duplicate_declarations);
  number("corrections", counts.corrections);
  number("declarations", counts.declarations);
  number("scans", counts.scans);
  number("ignored", counts.ignored);
  write_asides(json, asides, false);
  json.end_object();
  return out;
}

// A ledger reader, the rules that it needs, and the words of the house in force.
class LedgerTeller final : public api::Teller {
 public:
  using Rules = std::function<std::shared_ptr<const casework::House>()>;
  LedgerTeller(std::unique_ptr<ledger::Ledger> ledger, std::string site, Rules rules)
      : ledger_(std::move(ledger)), site_(std::move(site)), rules_(std::move(rules)) {}

  ledger::Ledger& ledger() override { return *ledger_; }

  Result<model::Outcome> outcome(ledger::Number case_number, int64_t sequence) override {
    return told_outcome(*ledger_, shelf_, case_number, sequence, site_);
  }

  Result<std::optional<std::string>> story(ledger::Number case_number) override {
    std::optional<std::string> out;
    auto read = ledger_->at_one_moment([&]() -> Result<void> {
      const auto rules = rules_();
      const StorySource source{*ledger_, shelf_, rules.get(), site_};
      auto story = tell_case(source, case_number);
      if (!story) return story.error();
      if (*story) write_json(out.emplace(), source, **story);
      return {};
    });
    if (!read) return read.error();
    return out;
  }

  Result<std::optional<std::string>> story_of(const std::string& key) override {
    std::optional<std::string> out;
    auto read = ledger_->at_one_moment([&]() -> Result<void> {
      const auto rules = rules_();
      const StorySource source{*ledger_, shelf_, rules.get(), site_};
      auto stories = tell(source, key);
      if (!stories) return stories.error();
      if (!stories->empty()) write_json(out.emplace(), source, stories->front());
      return {};
    });
    if (!read) return read.error();
    return out;
  }

 private:
  std::unique_ptr<ledger::Ledger> ledger_;
  HouseShelf shelf_{*ledger_};
  std::string site_;
  Rules rules_;
};

DeedAnswer answer_of(const ControlRequest& request, const Result<ControlAnswer>& told) {
  if (!told) return refusal_of(Kind::kFailed, told.error().text);
  if (!told->failed.empty()) return refusal_of(Kind::kFailed, told->failed);
  if (!told->refused.empty()) return refusal_of(Kind::kNotFound, told->refused);
  DeedAnswer answer;
  JsonWriter json(answer.json);
  json.begin_object();
  if (std::holds_alternative<ResendRequest>(request)) {
    json.member("again", told->resent.again).member("overtaken", told->resent.overtaken);
  } else {
    json.member("changed", told->changed);
  }
  if (!std::holds_alternative<PauseRequest>(request)) json.member("waiting", told->resent.waiting);
  json.end_object();
  return answer;
}

DeedAnswer answer_of(const HandFate& fate) {
  DeedAnswer answer;
  answer.kind = fate.kind;
  answer.text = fate.text;
  return answer;
}

}  // namespace

ServiceDesk::ServiceDesk(Parts parts, std::unique_ptr<ledger::Ledger> lookups)
    : parts_(std::move(parts)), lookups_(std::move(lookups)) {}

void ServiceDesk::adopt(const Checked& checked) {
  auto now = std::make_shared<Now>();
  auto house = house_of(checked);
  {
    const std::lock_guard lock(lookups_mutex_);
    house->ledger = lookups_->name();
  }
  now->house = std::move(house);
  now->rules = checked.rules->house;
  for (const config::Intake& intake : checked.settings.intakes) {
    IntakeRules& rules = now->intakes[intake.name];
    if (const auto* post = std::get_if<config::PostIntake>(&intake.source)) rules = {true, post->max_bytes, false};
    if (const auto* folder = std::get_if<config::FolderIntake>(&intake.source)) rules.is_growing = folder->growing;
  }
  reader_.adopt(checked);
  const std::lock_guard lock(mutex_);
  now_ = std::move(now);
}

std::shared_ptr<const ServiceDesk::Now> ServiceDesk::now() const {
  const std::lock_guard lock(mutex_);
  return now_;
}

std::shared_ptr<const api::House> ServiceDesk::house() const { return now()->house; }

Result<std::unique_ptr<api::Teller>> ServiceDesk::teller() {
  auto ledger = ledger::Ledger::read(parts_.ledger);
  if (!ledger) return ledger.error();
  return std::unique_ptr<api::Teller>(std::make_unique<LedgerTeller>(std::move(ledger).value(), house()->site,
                                                                     [this] { return now()->rules; }));
}

void ServiceDesk::act(api::Deed deed, Done done) {
  std::visit(base::Overload{
                 [&](api::Take& one) { take(std::move(one), std::move(done)); },
                 [&](api::Preview& one) { show(std::move(one), std::move(done)); },
                 [&](api::TryAgain& one) { try_again(one, std::move(done)); },
                 [&](api::Resend& one) { control(ResendRequest{std::move(one.selection)}, std::move(done)); },
                 [&](api::Pause& one) {
                   control(PauseRequest{std::move(one.outlet), one.by.who + ": " + one.by.why}, std::move(done));
                 },
                 [&](api::Resume& one) { control(ResumeRequest{std::move(one.outlet)}, std::move(done)); },
                 [&](api::Bind& one) { bind(std::move(one), std::move(done)); },
                 [&](api::DecideByHand& one) { decide(std::move(one), std::move(done)); },
             },
             deed);
}

void ServiceDesk::control(ControlRequest request, Done done) {
  parts_.control(request, [request, done = std::move(done)](const Result<ControlAnswer>& told) {
    done(answer_of(request, told));
  });
}

void ServiceDesk::bind(api::Bind deed, Done done) {
  const ledger::Number reading = deed.reading;
  parts_.writer.bind(std::move(deed), [this, reading, done = std::move(done)](bool committed, const HandFate& fate) {
    if (!committed) return done(not_durable());
    DeedAnswer answer = answer_of(fate);
    if (answer.kind == Kind::kDone) {
      JsonWriter json(answer.json);
      json.begin_object().member("reading", reading).member("key", std::string_view(fate.key));
      json.member_or_null("case", fate.case_number == 0 ? std::string() : case_id(fate.case_number)).end_object();
    }
    done(std::move(answer));
  });
}

void ServiceDesk::decide(api::DecideByHand deed, Done done) {
  parts_.writer.decide(std::move(deed), [this, done = std::move(done)](bool committed, const HandFate& fate) {
    if (!committed) return done(not_durable());
    DeedAnswer answer = answer_of(fate);
    if (answer.kind == Kind::kDone) {
      answer.made = true;
      answer.json = outcome_json(fate.case_number, fate.sequence);
    }
    done(std::move(answer));
  });
}

std::string ServiceDesk::case_id(ledger::Number case_number) {
  const std::lock_guard lock(lookups_mutex_);
  return lookups_->case_id(case_number);
}

// It is done, whatever can be told of it.
std::string ServiceDesk::outcome_json(ledger::Number case_number, int64_t sequence) {
  const std::lock_guard lock(lookups_mutex_);
  HouseShelf shelf(*lookups_);
  std::string out;
  auto outcome = told_outcome(*lookups_, shelf, case_number, sequence, house()->site);
  if (outcome) {
    model::write_json(out, *outcome);
  } else {
    JsonWriter(out).begin_object().member("case", std::string_view(lookups_->case_id(case_number))).member("sequence", sequence).end_object();
  }
  return out;
}

bool ServiceDesk::is_known(const std::string& intake, const base::Digest& digest) {
  const std::lock_guard lock(lookups_mutex_);
  const auto number = lookups_->find_intake(intake);
  return number && lookups_->knows_document(*number, digest);
}

void ServiceDesk::take(api::Take deed, Done done) {
  const auto now = this->now();
  const auto rules = now->intakes.find(deed.intake);
  if (rules == now->intakes.end()) {
    return done(refusal_of(Kind::kNotFound, "there is no intake " + base::in_quotes(deed.intake)));
  }
  if (!rules->second.takes_posts) {
    return done(refusal_of(Kind::kConflict, "the intake " + deed.intake + " takes no posts; it needs  post: {}  in girdled.yaml"));
  }
  if (deed.bytes.size() > rules->second.max_bytes) {
    return done(refusal_of(Kind::kRefused, "a document of the intake " + deed.intake + " has at most " +
                                               std::to_string(rules->second.max_bytes) + " bytes"));
  }
  if (!parts_.writer.has_room()) return done(no_room());

  model::Document document;
  document.digest = base::sha256(deed.bytes);
  document.intake = deed.intake;
  document.name = deed.name.empty() ? "post" : deed.name;
  document.size = deed.bytes.size();
  document.came_at = parts_.clock.now();
  const auto bytes = std::make_shared<const std::string>(std::move(deed.bytes));
  HandReader::Work work{document.intake, *bytes, {}, true};
  const bool begun = reader_.read(std::move(work), [this, document, bytes, done](Result<HandReader::Read> read) {
    if (!read) return done(refusal_of(Kind::kFailed, read.error().text));
    // A list that comes again says again what it says.
    if (!read->makes_declarations && is_known(document.intake, document.digest)) {
      parts_.took(document.intake, document.size, true, 0);
      DeedAnswer answer;
      answer.json = taken_json(document.digest, true, {}, {});
      return done(std::move(answer));
    }
    Batch batch;
    batch.document = document;
    batch.records = std::move(read->records);
    batch.contents = std::move(read->contents);
    batch.whole_file = true;
    batch.bytes = bytes;
    const auto counts = batch.counts = std::make_shared<RecordCounts>();
    const auto asides = std::make_shared<std::vector<model::Aside>>(batch.records.asides);
    if (!asides->empty()) {
      parts_.log.warning("set aside", {{"intake", document.intake},
                                       {"document", document.name},
                                       {"records", asides->size()},
                                       {"first", asides->front().reason}});
    }
    parts_.writer.submit(std::move(batch), [this, document, counts, asides, done](bool committed) {
      if (!committed) return done(not_durable());
      parts_.took(document.intake, document.size, false, asides->size());
      DeedAnswer answer;
      answer.made = true;
      answer.json = taken_json(document.digest, false, *counts, *asides);
      done(std::move(answer));
    });
  });
  if (!begun) done(no_room());
}

void ServiceDesk::show(api::Preview deed, Done done) {
  const auto now = this->now();
  if (!now->intakes.contains(deed.intake)) {
    return done(refusal_of(Kind::kNotFound, "there is no intake " + base::in_quotes(deed.intake)));
  }
  HandReader::Work work{std::move(deed.intake), std::move(deed.bytes), {}, true};
  const bool begun = reader_.read(std::move(work), [done](const Result<HandReader::Read>& read) {
    if (!read) return done(refusal_of(Kind::kRefused, read.error().text));
    DeedAnswer answer;
    answer.json = preview_json(read->records);
    done(std::move(answer));
  });
  if (!begun) done(no_room());
}

// Documents that are read again one after the other, and what came of it.
struct ServiceDesk::Again {
  std::vector<ledger::Number> documents;
  size_t next = 0;
  std::vector<ledger::Number> asides;    // that were open before, of these documents
  std::vector<ledger::Number> not_kept;  // of those that were asked for
  RecordCounts counts;
  std::string failed;  // the last that could not be read at all, and why
  Done done;
};

Result<std::shared_ptr<ServiceDesk::Again>> ServiceDesk::documents_of(const api::TryAgain& deed) {
  auto again = std::make_shared<Again>();
  std::set<ledger::Number> seen;
  const std::lock_guard lock(lookups_mutex_);
  for (const ledger::Number id : deed.asides) {
    auto aside = lookups_->aside(id);
    if (!aside) return aside.error();
    if (!*aside || !(*aside)->is_kept) {
      again->not_kept.push_back(id);
      continue;
    }
    again->asides.push_back(id);
    if (seen.insert((*aside)->document_number).second) again->documents.push_back((*aside)->document_number);
  }
  return again;
}

void ServiceDesk::try_again(const api::TryAgain& deed, Done done) {
  auto again = documents_of(deed);
  if (!again) return done(refusal_of(Kind::kFailed, again.error().text));
  (*again)->done = std::move(done);
  read_next(*again);
}

void ServiceDesk::finish(const Again& again) {
  int64_t settled = 0, open = 0;
  {
    const std::lock_guard lock(lookups_mutex_);
    for (const ledger::Number id : again.asides) {
      const auto aside = lookups_->aside(id);
      const bool is_settled = aside && *aside && (*aside)->settled_at;
      ++(is_settled ? settled : open);
    }
  }
  DeedAnswer answer;
  JsonWriter json(answer.json);
  json.begin_object().member("documents", static_cast<int64_t>(again.documents.size()));
  json.member("readings", static_cast<int64_t>(again.counts.readings));
  json.member("declarations", static_cast<int64_t>(again.counts.declarations));
  json.member("settled", settled).member("still_aside", open).member_or_null("failed", again.failed);
  json.key("not_kept").begin_array();
  for (const ledger::Number id : again.not_kept) json.number(id);
  json.end_array().end_object();
  again.done(std::move(answer));
}

Result<ledger::KeptDocument> ServiceDesk::kept_document(ledger::Number number) {
  const std::lock_guard lock(lookups_mutex_);
  auto kept = lookups_->kept_document(number);
  if (!kept) return kept.error();
  if (!*kept) return base::input_error("the bytes of a document are not in the ledger any more");
  return std::move(**kept);
}

void ServiceDesk::read_next(const std::shared_ptr<Again>& again) {
  if (again->next == again->documents.size()) return finish(*again);
  auto kept = kept_document(again->documents[again->next++]);
  if (!kept) return again->done(refusal_of(Kind::kFailed, kept.error().text));
  const auto now = this->now();
  const auto rules = now->intakes.find(kept->document.intake);
  const bool is_piece = rules != now->intakes.end() && rules->second.is_growing;
  HandReader::Work work{kept->document.intake, std::move(kept->bytes), std::move(kept->resume), !is_piece};
  const bool begun = reader_.read(std::move(work), [this, again, number = kept->number,
                                                    document = kept->document](Result<HandReader::Read> read) {
    if (!read) {
      again->failed = document.name + ": " + read.error().text;
      return read_next(again);
    }
    Batch batch;
    batch.document = document;
    batch.again = number;
    batch.records = std::move(read->records);
    batch.contents = std::move(read->contents);
    const auto counts = batch.counts = std::make_shared<RecordCounts>();
    parts_.writer.submit(std::move(batch), [this, again, counts](bool committed) {
      if (!committed) return again->done(not_durable());
      again->counts += *counts;
      read_next(again);
    });
  });
  if (!begun) again->done(no_room());
}

}  // namespace girdle::service
