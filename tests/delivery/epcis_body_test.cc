#include "delivery/epcis_body.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include <algorithm>
#include <fstream>
#include <iterator>

#include "delivery/sample_outcomes.h"

// What the published JSON Schema says of these documents is checked in tests/npm/verify_epcis.mjs.

namespace girdle::delivery {
namespace {

using model::Disposition;
using model::Outcome;
using ::testing::EndsWith;
using ::testing::HasSubstr;
using ::testing::Not;
using ::testing::StartsWith;

config::Body settings() {
  config::Body body;
  body.kind = config::Body::Kind::kEpcis;
  body.mark = {7, 3};
  body.epcis.item = {"https://quay-street.example/stock/{stock_number}", {8, 11}};
  return body;
}

config::Body full_settings() {
  config::Body body = settings();
  body.epcis.location = {"https://quay-street.example/shop", {9, 15}};
  body.epcis.reader = {"https://quay-street.example/instruments/{instrument}", {10, 13}};
  return body;
}

struct Made {
  std::unique_ptr<Body> body;
  config::Problems problems;
};

Made make(const config::Body& body, const char* zone = "UTC") {
  const std::string file = "girdled.yaml";
  Made made;
  made.body =
      make_epcis_body(body, base::Zone::find(zone).value(), config::Report(file, made.problems));
  return made;
}

std::string document(Body& body, const std::vector<Outcome>& outcomes) {
  std::string out;
  body.begin(out);
  for (const Outcome& outcome : outcomes) EXPECT_TRUE(body.add(out, outcome));
  body.end(out);
  return out;
}

std::string document(const std::vector<Outcome>& outcomes, const config::Body& body = settings()) {
  return document(*make(body).body, outcomes);
}

// The events of a document, by themselves.
std::vector<std::string> events(const std::string& document) {
  static constexpr std::string_view kStart = R"({"type":"ObjectEvent")";
  std::vector<std::string> out;
  const size_t end = document.rfind("]},\"creationDate\"");
  for (size_t at = document.find(kStart); at < end;) {
    const size_t next = std::min(document.find(kStart, at + 1), end);
    out.push_back(document.substr(at, next - at));
    if (out.back().ends_with(',')) out.back().pop_back();
    at = next;
  }
  return out;
}

Outcome outcome_with(Disposition disposition) {
  Outcome outcome = sample_outcome(17, 2);
  outcome.decision.disposition = disposition;
  return outcome;
}

TEST(EpcisBody, IsADocumentOfTheStandardByteForByte) {
  Outcome outcome = sample_outcome(17, 2);
  outcome.decision.evidence.said = {{model::Finding::kNatural, "A-0117", 1},
                                    {model::Finding::kSimulant, "B 2", 1}};
  const std::string rules =
      R"("dataProcessingMethod":"ni:///sha-256;AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA",)"
      R"("bizRules":"ni:///sha-256;AAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAAA")";
  // The UUID is what Python's uuid.uuid5 makes of our name space and "q1-17-2".
  EXPECT_EQ(
      document({outcome}, full_settings()),
      R"({"@context":["https://ref.gs1.org/standards/epcis/2.0.0/epcis-context.jsonld",{"girdle":"urn:girdle:"}],)"
      R"("type":"EPCISDocument","schemaVersion":"2.0","epcisBody":{"eventList":[)"
      R"({"type":"ObjectEvent","eventID":"urn:uuid:9d0a9fac-ea00-5a91-82c9-f4a227559a52",)"
      R"("eventTime":"2026-11-02T10:15:30.000Z","eventTimeZoneOffset":"+00:00",)"
      R"("epcList":["https://quay-street.example/stock/R1017"],"action":"OBSERVE",)"
      R"("bizStep":"holding","disposition":"non_sellable_other",)"
      R"("persistentDisposition":{"set":["non_sellable_other"]},)"
      R"("readPoint":{"id":"https://quay-street.example/shop"},)"
      R"("bizLocation":{"id":"https://quay-street.example/shop"},)"
      R"("sensorElementList":[)"
      R"({"sensorMetadata":{"deviceID":"https://quay-street.example/instruments/A-0117",)" +
          rules +
          R"(},"sensorReport":[{"type":"urn:girdle:finding","stringValue":"natural","girdle:runs":1}]},)"
          R"({"sensorMetadata":{"deviceID":"https://quay-street.example/instruments/B%202",)" +
          rules +
          R"(},"sensorReport":[{"type":"urn:girdle:finding","stringValue":"simulant","girdle:runs":1}]}],)"
          R"("girdle:case":"q1-17","girdle:sequence":2,"girdle:site":"quay-street","girdle:kind":"stone",)"
          R"("girdle:stock_number":"R1017","girdle:disposition":"refer","girdle:reason":"findings_differ",)"
          R"("girdle:finding":"mixed","girdle:policy_name":"default","girdle:policy_version":"1",)"
          R"("girdle:policy_digest":"sha256:0000000000000000000000000000000000000000000000000000000000000000",)"
          R"("girdle:rule":4,"girdle:notice":")" +
          std::string(model::kNotice) + R"("}]},"creationDate":"2026-11-02T10:15:30.000Z"})");
}

// CBV 2.0, JSON-Schema/schemas/bizStep- and disposition-JSON-Schema.json of github.com/gs1/EPCIS at
// commit 2b888befbc071e1c2d388e027b30149b3f51dcef (EPCIS-3, EPCIS-4).
constexpr std::string_view kSteps[] = {"accepting",
                                       "arriving",
                                       "assembling",
                                       "collecting",
                                       "commissioning",
                                       "consigning",
                                       "creating_class_instance",
                                       "cycle_counting",
                                       "decommissioning",
                                       "departing",
                                       "destroying",
                                       "disassembling",
                                       "dispensing",
                                       "encoding",
                                       "entering_exiting",
                                       "holding",
                                       "inspecting",
                                       "installing",
                                       "killing",
                                       "loading",
                                       "other",
                                       "packing",
                                       "picking",
                                       "receiving",
                                       "removing",
                                       "repackaging",
                                       "repairing",
                                       "replacing",
                                       "reserving",
                                       "retail_selling",
                                       "shipping",
                                       "staging_outbound",
                                       "stock_taking",
                                       "stocking",
                                       "storing",
                                       "transporting",
                                       "unloading",
                                       "unpacking",
                                       "void_shipping",
                                       "sensor_reporting",
                                       "sampling"};
constexpr std::string_view kStates[] = {"active",
                                        "container_closed",
                                        "damaged",
                                        "destroyed",
                                        "dispensed",
                                        "disposed",
                                        "encoded",
                                        "expired",
                                        "in_progress",
                                        "in_transit",
                                        "inactive",
                                        "no_pedigree_match",
                                        "non_sellable_other",
                                        "partially_dispensed",
                                        "recalled",
                                        "reserved",
                                        "retail_sold",
                                        "returned",
                                        "sellable_accessible",
                                        "sellable_not_accessible",
                                        "stolen",
                                        "unknown",
                                        "available",
                                        "completeness_verified",
                                        "completeness_inferred",
                                        "conformant",
                                        "container_open",
                                        "mismatch_instance",
                                        "mismatch_class",
                                        "mismatch_quantity",
                                        "needs_replacement",
                                        "non_conformant",
                                        "unavailable"};

// The text of a member.
std::string member(const std::string& event, std::string_view name) {
  const std::string mark = "\"" + std::string(name) + "\":\"";
  const size_t at = event.find(mark);
  if (at == std::string::npos) return "(none)";
  const size_t start = at + mark.size();
  return event.substr(start, event.find('"', start) - start);
}

struct Words {
  Disposition disposition;
  const char* step;
  const char* state;
  const char* lasting;
};
// Step and state by what CBV 2.0 says of each word (Ontology/CBV.ttl of the same commit):
// `conformant` and `non_conformant` are how an inspection ended; `holding` is "segregated for
// further review"; `non_sellable_other` also "pending further evaluation". Which of ours is which:
// our own, no source.
constexpr Words kWords[] = {
    {Disposition::kRelease, "inspecting", "conformant", R"({"unset":["non_sellable_other"]})"},
    {Disposition::kRepeat, "inspecting", "non_sellable_other", R"({"set":["non_sellable_other"]})"},
    {Disposition::kHold, "holding", "non_sellable_other", R"({"set":["non_sellable_other"]})"},
    {Disposition::kRefer, "holding", "non_sellable_other", R"({"set":["non_sellable_other"]})"},
    {Disposition::kReject, "inspecting", "non_conformant", R"({"set":["non_sellable_other"]})"},
};

TEST(EpcisBody, SaysEachDispositionInWordsOfTheVocabulary) {
  for (const Words& words : kWords) {
    const std::string event = events(document({outcome_with(words.disposition)})).at(0);
    EXPECT_EQ(member(event, "bizStep"), words.step);
    EXPECT_EQ(member(event, "disposition"), words.state);
    EXPECT_THAT(event, HasSubstr("\"persistentDisposition\":" + std::string(words.lasting) + ","));
    EXPECT_EQ(std::ranges::count(kSteps, std::string_view(words.step)), 1);
    EXPECT_EQ(std::ranges::count(kStates, std::string_view(words.state)), 1);
    // `sampling` destroys, and an event of the end of life has to follow (EPCIS-6).
    EXPECT_THAT(event, Not(HasSubstr("sampling")));
    EXPECT_EQ(member(event, "action"), "OBSERVE");
  }
}

TEST(EpcisBody, OnlyAReleaseEndsThatAStoneIsNotForSale) {
  for (const Words& before : kWords) {
    for (const Words& now : kWords) {
      Outcome outcome = outcome_with(now.disposition);
      outcome.previous = before.disposition;
      // The same whatever came before: the receiver may not have heard of it.
      EXPECT_EQ(document({outcome}), document({outcome_with(now.disposition)}));
      EXPECT_EQ(document({outcome}).find("\"unset\"") != std::string::npos,
                now.disposition == Disposition::kRelease);
    }
  }
}

TEST(EpcisBody, TellsTheOffsetOfThePlaceAndNeverZ) {
  // EPCIS-2: "+14:00" is the largest that the schema takes, and "Z" is none. Offsets by the IANA
  // database.
  struct Place {
    const char* zone;
    int64_t millis;
    const char* offset;
  };
  for (const Place& place :
       {Place{"UTC", 1793614530000, "+00:00"}, Place{"Europe/Brussels", 1793614530000, "+01:00"},
        Place{"Europe/Brussels", 1783073730000, "+02:00"},
        Place{"America/New_York", 1793614530000, "-05:00"},
        Place{"Asia/Kathmandu", 1793614530000, "+05:45"},
        Place{"America/St_Johns", 1793614530000, "-03:30"},
        Place{"Pacific/Kiritimati", 1793614530000, "+14:00"}}) {
    Outcome outcome = sample_outcome(1, 1);
    outcome.decided_at = base::from_millis(place.millis);
    EXPECT_EQ(
        member(document(*make(settings(), place.zone).body, {outcome}), "eventTimeZoneOffset"),
        place.offset)
        << place.zone;
  }
}

TEST(EpcisBody, NamesThePolicyByItsDigest) {
  // RFC 6920: the SHA-256 of "Hello World!" (from memory; recomputed with Python).
  Outcome outcome = sample_outcome(1, 1);
  outcome.policy.digest = "sha256:7f83b1657ff1fc53b92dc18148a1d65dfc2d4b1fa3d677284addd200126d9069";
  const std::string event = document({outcome});
  EXPECT_EQ(member(event, "dataProcessingMethod"),
            "ni:///sha-256;f4OxZX_x_FO5LcGBSKHWXfwtSx-j1ncoSt3SABJtkGk");
  EXPECT_EQ(member(event, "bizRules"), member(event, "dataProcessingMethod"));
  for (const char* digest :
       {"", "sha256:", "md5:00",
        "sha256:zz83b1657ff1fc53b92dc18148a1d65dfc2d4b1fa3d677284addd200126d9069"}) {
    outcome.policy.digest = digest;
    EXPECT_THAT(document({outcome}), Not(HasSubstr("sensorMetadata"))) << digest;
  }
}

TEST(EpcisBody, NamesThingsByTheHousesPattern) {
  Outcome outcome = sample_outcome(1, 1);
  outcome.stock_number = "\xe2\x82\xac 12/E4";
  EXPECT_THAT(document({outcome}),
              HasSubstr(R"("epcList":["https://quay-street.example/stock/%E2%82%AC%2012%2FE4"])"));
  outcome.stock_number = "R1042";
  outcome.position = "2";
  outcome.kind = model::SubjectKind::kPiece;
  const std::string event = document({outcome});
  EXPECT_THAT(
      event,
      HasSubstr(R"("epcList":["https://quay-street.example/stock/R1042%232"])"));  // not the piece
  EXPECT_THAT(event, HasSubstr(R"("girdle:stock_number":"R1042","girdle:position":"2")"));
}

TEST(EpcisBody, LeavesOutWhatIsNotKnown) {
  Outcome outcome = sample_outcome(1, 1);
  outcome.decision.evidence.said = {{model::Finding::kNatural, "A-0117", 2}};
  const std::string event = document({outcome});
  for (const char* name : {"readPoint", "bizLocation", "deviceID", "recordTime",
                           "bizTransactionList", "errorDeclaration"}) {
    EXPECT_THAT(event, Not(HasSubstr(name)));
  }
}

TEST(EpcisBody, TellsTheCommonFindingWhereTheRunsAreNotKnown) {
  // Outcomes of the ledger's version 1.
  EXPECT_THAT(
      document({sample_outcome(1, 1)}),
      HasSubstr(
          R"("sensorReport":[{"type":"urn:girdle:finding","stringValue":"mixed","girdle:runs":2}])"));
}

TEST(EpcisBody, HasNoSensorElementWithoutAMeasurement) {
  Outcome outcome = sample_outcome(1, 1);
  outcome.decision.evidence.valid = 0;
  EXPECT_THAT(document({outcome}), Not(HasSubstr("sensor")));
}

TEST(EpcisBody, SendsNothingThatWasDeclared) {
  Outcome outcome = sample_outcome(1, 1);
  outcome.declared.emplace();
  outcome.declared->channel = "counter";
  outcome.declared->value = base::Decimal::parse("1250.00");
  outcome.decision.evidence.stone.value = outcome.declared->value;
  EXPECT_EQ(document({outcome}), document({sample_outcome(1, 1)}));
}

TEST(EpcisBody, HasAnEventAnOutcomeAndIsAsOldAsItsNewest) {
  Outcome late = sample_outcome(2, 1);
  late.decided_at += std::chrono::seconds(90);
  const std::string both = document({sample_outcome(1, 1), late, sample_outcome(3, 1)});
  ASSERT_EQ(events(both).size(), 3u);
  EXPECT_THAT(both, EndsWith(R"(]},"creationDate":"2026-11-02T10:17:00.000Z"})"));
  EXPECT_EQ(events(both)[0], events(document({sample_outcome(1, 1)}))[0]);
}

TEST(EpcisBody, GivesTheSameBytesAgain) {
  const Made made = make(full_settings());
  const std::string first = document(*made.body, {sample_outcome(1, 1), sample_outcome(2, 1)});
  Outcome later = sample_outcome(9, 9);
  later.decided_at += std::chrono::hours(1);
  document(*made.body, {later});
  EXPECT_EQ(document(*made.body, {sample_outcome(1, 1), sample_outcome(2, 1)}), first);
}

// --- corrections

Outcome merged() {
  Outcome outcome = sample_outcome(45, 3);
  outcome.merged_into = "q1-12";
  outcome.decided_at += std::chrono::hours(1);
  outcome.taken_back = {sample_outcome(45, 1), sample_outcome(45, 2)};
  outcome.taken_back[0].decision.disposition = Disposition::kRelease;
  return outcome;
}

TEST(EpcisBody, DeclaresWhatAMergedCaseSaidAnError) {
  const std::vector<std::string> all = events(document({merged()}));
  ASSERT_EQ(all.size(), 3u);
  for (size_t i = 0; i < 2; ++i) {
    EXPECT_THAT(all[i],
                HasSubstr(R"("errorDeclaration":{"declarationTime":"2026-11-02T11:15:30.000Z",)"
                          R"("reason":"incorrect_data","correctiveEventIDs":[")" +
                          member(all[2], "eventID") + R"("]},)"));
  }
  EXPECT_THAT(all[2], Not(HasSubstr("errorDeclaration")));
  EXPECT_THAT(all[2], HasSubstr(R"("girdle:merged_into":"q1-12")"));
}

TEST(EpcisBody, RepeatsTheEventThatWasAnErrorFieldByField) {
  // EPCIS 2.0, Ontology/EPCIS.ttl, ErrorDeclaration: "otherwise identical" to the prior event, the
  // eventID too.
  const Outcome outcome = merged();
  const std::vector<std::string> all = events(document({outcome}));
  for (size_t i = 0; i < 2; ++i) {
    std::string declaration = all.at(i);
    const size_t from = declaration.find("\"errorDeclaration\""),
                 to = declaration.find("\"epcList\"");
    declaration.erase(from, to - from);
    EXPECT_EQ(declaration, events(document({outcome.taken_back[i]})).at(0));
  }
}

TEST(EpcisBody, DeclaresThatWhatAnEmptiedCaseSaidDidNotOccur) {
  Outcome outcome = sample_outcome(17, 2);
  outcome.decision.disposition = Disposition::kRepeat;
  outcome.decision.evidence.valid = 0;
  outcome.taken_back = {sample_outcome(17, 1)};
  const std::vector<std::string> all = events(document({outcome}));
  ASSERT_EQ(all.size(), 2u);
  EXPECT_EQ(member(all[0], "eventID"),
            "urn:uuid:ec3e1614-c48e-5384-a028-e053303329b3");  // uuid5 of "q1-17-1"
  EXPECT_THAT(all[0],
              HasSubstr(R"("reason":"did_not_occur","correctiveEventIDs":["urn:uuid:9d0a9fac-)"));
  EXPECT_EQ(member(all[1], "disposition"), "non_sellable_other");
}

TEST(EpcisBody, DeclaresNoErrorWhereAnOutcomeIsNews) {
  Outcome outcome = sample_outcome(17, 2);
  outcome.taken_back = {sample_outcome(17, 1)};  // whoever filled it: nothing of it was wrong
  EXPECT_EQ(document({outcome}), document({sample_outcome(17, 2)}));
  outcome = sample_outcome(17, 1);  // nothing was said of the case before
  outcome.decision.evidence.valid = 0;
  outcome.taken_back = {sample_outcome(17, 1)};
  EXPECT_EQ(events(document({outcome})).size(), 1u);
}

TEST(EpcisBody, SaysWhatHoldsNowWhereTheOldOutcomesAreNotThere) {
  Outcome outcome = merged();
  outcome.taken_back.clear();
  EXPECT_EQ(events(document({outcome})).size(), 1u);
}

// --- around the document

// Without the blanks and line feeds between its values.
std::string compact(std::string_view json) {
  std::string out;
  bool in_text = false;
  for (size_t i = 0; i < json.size(); ++i) {
    if (json[i] == '"' && (i == 0 || json[i - 1] != '\\')) in_text = !in_text;
    if (in_text || (json[i] != ' ' && json[i] != '\n')) out += json[i];
  }
  return out;
}

TEST(EpcisBody, StandsInTheManualAsItIs) {
  std::ifstream file(GIRDLE_SOURCE_DIR "/daemon/delivery/README.md");
  const std::string manual(std::istreambuf_iterator<char>(file), {});
  const size_t start = manual.find("{\n  \"@context\"");
  ASSERT_NE(start, std::string::npos);
  Outcome outcome = sample_outcome(42, 2);
  outcome.case_id = "q1w8r3tz-65536";
  outcome.decision.evidence.said = {{model::Finding::kNatural, "A-0117", 1},
                                    {model::Finding::kSimulant, "B-0042", 1}};
  outcome.policy.digest = "sha256:7f83b1657ff1fc53b92dc18148a1d65dfc2d4b1fa3d677284addd200126d9069";
  EXPECT_EQ(compact(manual.substr(start, manual.find("```", start) - start)),
            document(*make(full_settings(), "Europe/Brussels").body, {outcome}));
}

TEST(EpcisBody, HasTheHeaderFieldsOfTheCaptureInterface) {
  // EPCIS 2.0, REST Bindings/openapi.yaml, POST /capture (EPCIS-7).
  const Made made = make(settings());
  std::string head;
  ASSERT_TRUE(made.body->add_fields(head, sample_outcome(1, 1)));
  EXPECT_EQ(head,
            "GS1-EPCIS-Version: 2.0.0\r\nGS1-CBV-Version: 2.0.0\r\nGS1-Capture-Error-Behaviour: "
            "proceed\r\n");
  EXPECT_EQ(made.body->content_type(), "application/json");
  EXPECT_EQ(made.body->extension(), "jsonld");
}

std::string said_of(const config::Body& body) {
  const Made made = make(body);
  EXPECT_EQ(made.body, nullptr);
  std::string all;
  for (const config::Problem& problem : made.problems) {
    all += std::to_string(problem.mark.line) + ":" + std::to_string(problem.mark.column) + ": ";
    all += problem.text + "\n";
  }
  return all;
}

TEST(EpcisBody, SaysAtItsPlaceWhatIsWrongInTheConfiguration) {
  config::Body body = settings();
  body.epcis.item = {"https://quay-street.example/stock/", {8, 11}};
  EXPECT_THAT(said_of(body), AllOf(StartsWith("8:11: "), HasSubstr("{stock_number}")));
  body.epcis.item = {"R{stock_number}", {8, 11}};
  EXPECT_THAT(said_of(body), AllOf(StartsWith("8:11: "), HasSubstr("is no URI")));
  body = full_settings();
  body.epcis.location.text = "the shop";
  body.epcis.reader.text = "urn:instrument:1";
  EXPECT_THAT(said_of(body),
              AllOf(HasSubstr("9:15: \"the shop\" is no URI"),
                    HasSubstr("10:13: \"urn:instrument:1\" has to have {instrument}")));
}

}  // namespace
}  // namespace girdle::delivery
