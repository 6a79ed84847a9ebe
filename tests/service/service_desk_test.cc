// What a person or a program asks over HTTP, done by the service: with a real writer, a real ledger and real readers.
#include "service/service_desk.h"

#include <gmock/gmock.h>

#include <fstream>
#include <future>

#include "base/json_pointer.h"
#include "temp_ledger.h"

namespace girdle::service {
namespace {

using api::DeedAnswer;
using Kind = DeedAnswer::Kind;
using testing::HasSubstr;

constexpr char kHead[] = "device,run,at,stock,verdict\n";
constexpr char kMapping[] = R"(record: reading
fields:
  instrument: { from: device }
  run: { from: run }
  measured_at: { from: at, form: rfc3339 }
  stock_number: { from: stock }
  finding: { from: verdict, words: { nat: natural, sim: simulant } }
)";

class ServiceDeskTest : public testing::Test {
 protected:
  ServiceDeskTest() {
    write("mapping.yaml", kMapping);
    write("stock.yaml", "record: declaration\nfields:\n  stock_number: { from: stock }\n  identity: { from: identity }\n");
    write("girdled.yaml", std::string("site: quay-street\nledger: { path: l.db }\nreaders: [") + GIRDLE_READERS +
                              "]\ninstruments: [{ serial: A-0117, bench: counter-1 }]\nintakes:\n"
                              "  - { name: posts, post: { max_size: 64KiB }, reader: delimited, isolate: never, mapping: mapping.yaml }\n"
                              "  - { name: lists, post: {}, reader: delimited, isolate: never, mapping: stock.yaml }\n"
                              "  - { name: line, tcp: { connect: \"127.0.0.1:1\" }, reader: delimited, isolate: never, mapping: mapping.yaml }\n");
    open();
  }

  ~ServiceDeskTest() override { close(); }

  void write(const char* name, const std::string& text) { std::ofstream(folder() / name) << text; }
  std::filesystem::path folder() const { return temp_.path().parent_path(); }

  void open() {
    checked_ = check(folder() / "girdled.yaml", clock_.now());
    for (const config::Problem& problem : checked_.problems) ADD_FAILURE() << config::format(problem);
    auto ledger = ledger::Ledger::open(temp_.path());
    ASSERT_TRUE(ledger.ok());
    writer_ = std::make_unique<Writer>(std::move(ledger).value(), clock_, base::Log::to_nowhere(), "quay-street", Writer::Hooks{});
    writer_->start();
    const auto adopted = std::make_shared<std::promise<bool>>();
    writer_->adopt({*checked_.rules, {}, {}}, [adopted](bool committed) { adopted->set_value(committed); });
    ASSERT_TRUE(adopted->get_future().get());
    auto lookups = ledger::Ledger::read(temp_.path());
    ASSERT_TRUE(lookups.ok());
    ServiceDesk::Parts parts{*writer_, temp_.path(), clock_, base::Log::to_nowhere(),
                             [](std::function<void(api::Standing)> done) { done({}); },
                             [](const ControlRequest&, const Control::Done& done) { done(refusal("no outlets here")); },
                             [this](const std::string& intake, uint64_t, bool known, uint64_t aside) {
                               took_.push_back(intake + (known ? " known" : "") + (aside > 0 ? " aside " + std::to_string(aside) : ""));
                             }};
    desk_ = std::make_unique<ServiceDesk>(std::move(parts), std::move(lookups).value());
    desk_->adopt(checked_);
  }

  void close() {
    desk_->stop();
    writer_->stop();
  }

  DeedAnswer act(api::Deed deed) {
    const auto answered = std::make_shared<std::promise<DeedAnswer>>();
    desk_->act(std::move(deed), [answered](DeedAnswer answer) { answered->set_value(std::move(answer)); });
    return answered->get_future().get();
  }
  DeedAnswer post(const std::string& bytes, const std::string& intake = "posts") { return act(api::Take{intake, "", bytes}); }

  ledger::Ledger::Counts counts() {
    auto ledger = ledger::Ledger::read(temp_.path());
    return *(*ledger)->counts();
  }
  std::vector<ledger::AsideRow> asides() {
    std::vector<ledger::AsideRow> rows;
    auto ledger = ledger::Ledger::read(temp_.path());
    EXPECT_TRUE((*ledger)->each_aside({}, [&](const ledger::AsideRow& row) { rows.push_back(row); }).ok());
    return rows;
  }
  std::string last_disposition(const char* stock) {
    auto ledger = ledger::Ledger::read(temp_.path());
    const auto subject = (*ledger)->find_subject(stock);
    if (!subject) return "unknown";
    auto cases = (*ledger)->cases_of(*subject);
    if (cases->empty()) return "no case";
    auto outcome = (*ledger)->outcome(cases->back().number, cases->back().sequence);
    return std::string(model::text((*outcome)->decision.disposition)) + ' ' + std::to_string(cases->back().sequence);
  }
  static api::By kim() { return {"Kim", "seen under the microscope", "counter"}; }

  TempLedger temp_;
  base::ManualClock clock_{base::from_millis(1'793'000'000'000)};
  Checked checked_;
  std::unique_ptr<Writer> writer_;
  std::unique_ptr<ServiceDesk> desk_;
  std::vector<std::string> took_;
};

const std::string kTwoRuns = std::string(kHead) + "A-0117,1,2026-11-02T09:00:00Z,R1,sim\nA-0117,2,2026-11-02T09:01:00Z,R1,sim\n";

TEST_F(ServiceDeskTest, AnswersAPostAfterTheCommit) {
  const DeedAnswer answer = post(kTwoRuns);
  EXPECT_EQ(answer.kind, Kind::kDone) << answer.text;
  EXPECT_TRUE(answer.made);
  EXPECT_THAT(answer.json, HasSubstr(R"("known":false,"readings":2,"duplicates":0,)"));
  EXPECT_EQ(counts().readings, 2);
  EXPECT_EQ(last_disposition("R1"), "reject 1");
  EXPECT_THAT(took_, testing::ElementsAre("posts"));
}

TEST_F(ServiceDeskTest, KnowsADocumentThatIsPostedAgain) {
  post(kTwoRuns);
  const DeedAnswer answer = post(kTwoRuns);
  EXPECT_EQ(answer.kind, Kind::kDone);
  EXPECT_FALSE(answer.made);
  EXPECT_THAT(answer.json, HasSubstr(R"("known":true,"readings":0)"));
  EXPECT_EQ(counts().readings, 2);
  EXPECT_EQ(counts().receipts, 0);
  EXPECT_THAT(took_, testing::ElementsAre("posts", "posts known"));
}

TEST_F(ServiceDeskTest, ReadsAListOfTheInventoryEachTimeThatItComes) {
  const std::string list = "stock,identity\nR1,natural\n";
  EXPECT_THAT(post(list, "lists").json, HasSubstr(R"("declarations":1,)"));
  const DeedAnswer again = post(list, "lists");
  EXPECT_TRUE(again.made);
  EXPECT_THAT(again.json, HasSubstr(R"("known":false,"readings":0,"duplicates":1,)"));
}

TEST_F(ServiceDeskTest, TellsWhatOfAPostWasSetAside) {
  const DeedAnswer answer = post(std::string(kHead) + "A-0117,1,2026-11-02T09:00:00Z,R1,sim\nA-0117,2,2026-11-02T09:01:00Z,R1,qqq\n");
  EXPECT_THAT(answer.json, HasSubstr(R"("readings":1,)"));
  EXPECT_THAT(answer.json, HasSubstr(R"("set_aside":[{"line":3,"reason":)"));
  EXPECT_EQ(asides().size(), 1u);
  EXPECT_THAT(took_, testing::ElementsAre("posts aside 1"));
}

TEST_F(ServiceDeskTest, RefusesPostsThatNoIntakeTakes) {
  EXPECT_EQ(post(kTwoRuns, "none").kind, Kind::kNotFound);
  EXPECT_EQ(post(kTwoRuns, "line").kind, Kind::kConflict);
  const DeedAnswer large = post(std::string((64 << 10) + 1, 'a'));
  EXPECT_EQ(large.kind, Kind::kRefused);
  EXPECT_THAT(large.text, HasSubstr("at most 65536 bytes"));
  EXPECT_EQ(counts().readings, 0);
}

TEST_F(ServiceDeskTest, ShowsHowADocumentWouldBeReadAndKeepsNothing) {
  const DeedAnswer answer = act(api::Preview{"line", std::string(kHead) + "A-0117,1,2026-11-02T09:00:00Z,R1,sim\nA-0117,2,,R1,sim\n"});
  EXPECT_EQ(answer.kind, Kind::kDone) << answer.text;
  EXPECT_THAT(answer.json, HasSubstr(R"({"records":[{"kind":"reading","record":{)"));
  EXPECT_THAT(answer.json, HasSubstr(R"("set_aside":[{"line":3,)"));
  EXPECT_THAT(answer.json, HasSubstr(R"("text":"A-0117,2,,R1,sim)"));
  EXPECT_EQ(counts().readings + counts().asides, 0);
}

TEST_F(ServiceDeskTest, ReadsAgainWhatWasSetAsideOnceTheMappingKnowsTheWord) {
  post(std::string(kHead) + "A-0117,1,2026-11-02T09:00:00Z,R1,sim\nA-0117,2,2026-11-02T09:01:00Z,R1,moiss\n");
  EXPECT_EQ(last_disposition("R1"), "repeat 1");
  const ledger::Number aside = asides().at(0).id;
  EXPECT_THAT(act(api::TryAgain{{aside}}).json, HasSubstr(R"("documents":1,"readings":0,"declarations":0,"settled":0,"still_aside":1)"));
  EXPECT_FALSE(asides().at(0).settled_at);

  std::string mended = kMapping;
  mended.replace(mended.find("sim: simulant"), 13, "sim: simulant, moiss: simulant");
  write("mapping.yaml", mended);
  checked_ = check(folder() / "girdled.yaml", clock_.now());
  desk_->adopt(checked_);
  EXPECT_THAT(act(api::TryAgain{{aside}}).json, HasSubstr(R"("documents":1,"readings":1,"declarations":0,"settled":1,"still_aside":0)"));
  EXPECT_EQ(asides().size(), 1u);
  EXPECT_TRUE(asides().at(0).settled_at);
  EXPECT_EQ(counts().readings, 2);
  EXPECT_EQ(last_disposition("R1"), "reject 2");
}

TEST_F(ServiceDeskTest, SaysWhatItCannotReadAgain) {
  EXPECT_THAT(act(api::TryAgain{{77}}).json, HasSubstr(R"("documents":0,)"));
  EXPECT_THAT(act(api::TryAgain{{77}}).json, HasSubstr(R"("not_kept":[77])"));
}

TEST_F(ServiceDeskTest, BindsAReadingThatHasNoStockNumber) {
  post(std::string(kHead) + "A-0117,1,2026-11-02T09:00:00Z,,sim\n");
  const DeedAnswer bound = act(api::Bind{1, "R7", "2", kim()});
  EXPECT_EQ(bound.kind, Kind::kDone) << bound.text;
  EXPECT_THAT(bound.json, HasSubstr(R"("reading":1,"key":"R7#2","case":")"));
  EXPECT_EQ(last_disposition("R7#2"), "repeat 1");
  EXPECT_EQ(act(api::Bind{99, "R7", "", kim()}).kind, Kind::kNotFound);
  post(kTwoRuns);
  EXPECT_EQ(act(api::Bind{2, "R7", "", kim()}).kind, Kind::kConflict);
}

TEST_F(ServiceDeskTest, GivesTheOutcomeThatAPersonDecided) {
  post(kTwoRuns);
  const ledger::Number number = ledger::first_case_of(1);
  const DeedAnswer decided = act(api::DecideByHand{number, 1, model::Disposition::kRefer, kim()});
  EXPECT_EQ(decided.kind, Kind::kDone) << decided.text;
  EXPECT_TRUE(decided.made);
  EXPECT_THAT(decided.json, HasSubstr(R"("disposition":"refer","previous_disposition":"reject")"));
  EXPECT_THAT(decided.json, HasSubstr(R"("by_hand":{"who":"Kim","why":"seen under the microscope"})"));
  EXPECT_EQ(last_disposition("R1"), "refer 2");
  EXPECT_EQ(act(api::DecideByHand{number, 1, model::Disposition::kHold, kim()}).kind, Kind::kConflict);
}

TEST_F(ServiceDeskTest, TellsACaseAsTheCommandLineDoes) {
  post(kTwoRuns);
  auto teller = desk_->teller();
  ASSERT_TRUE(teller.ok());
  auto story = (*teller)->story(ledger::first_case_of(1));
  ASSERT_TRUE(story.ok() && *story);
  EXPECT_THAT(**story, HasSubstr(R"("key":"R1","outcome":{)"));
  EXPECT_THAT(**story, HasSubstr(R"("would_change":[)"));
  EXPECT_FALSE((*(*teller)->story(99)).has_value());
}

TEST_F(ServiceDeskTest, TakesOnlySoManyDocumentsAtATime) {
  // The reading thread is held up by the first Done.
  std::promise<void> go_on;
  HandReader reader;
  reader.adopt(checked_);
  std::atomic<int> done{0};
  auto held = go_on.get_future().share();
  size_t taken = 0;
  for (size_t i = 0; i < HandReader::kMostWaiting + 5; ++i) {
    taken += reader.read({"posts", kHead, {}, true}, [held, &done](const auto&) {
      held.wait();
      ++done;
    });
  }
  EXPECT_LE(taken, HandReader::kMostWaiting + 1);  // the one whose Done is under way has left the queue
  EXPECT_GE(taken, HandReader::kMostWaiting);
  go_on.set_value();
  reader.stop();
}

}  // namespace
}  // namespace girdle::service
