// girdled.yaml: one thing wrong at a time, and how it is told.
#include <gmock/gmock.h>

#include "base/time.h"
#include "small_house.h"

namespace girdle::config {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

#define EXPECT_PROBLEM(problems, text) \
  EXPECT_THAT((problems), ElementsAre("/house/girdled.yaml:" text))

TEST(Settings, AreRightWithASiteAndALedger) { EXPECT_THAT(problems_with(""), IsEmpty()); }

TEST(Settings, MustBeAMap) {
  EXPECT_PROBLEM(problems_in(small_house("- site: a\n")),
                 "1:1: the configuration must be a map of keys and values, not a list of 1");
}

TEST(Settings, NameTheNearestKeyForAnUnknownOne) {
  EXPECT_PROBLEM(problems_with("timezon: UTC\n"),
                 "3:1: the configuration has no key \"timezon\"; did you mean \"timezone\"?");
}

TEST(Settings, ListTheKeysWhereNoneIsNear) {
  EXPECT_PROBLEM(problems_with("log: { colour-of-the-log: red }\n"),
                 "3:8: log has no key \"colour-of-the-log\"; it has level");
}

TEST(Settings, NeedTheirRequiredKeys) {
  EXPECT_PROBLEM(
      problems_in(small_house("ledger: { path: l.db }\n")),
      "1:1: the configuration needs the key \"site\" (The shop, office or vault; outcomes "
      "carry it)");
  EXPECT_PROBLEM(problems_in(small_house("site: a\nledger: {}\n")),
                 "2:9: ledger needs the key \"path\" (The ledger's file; its folder is made where "
                 "there is none)");
}

TEST(Settings, SayWhatAValueMustBeInsteadOfAnotherShape) {
  EXPECT_PROBLEM(problems_in(small_house("site: a\nledger: l.db\n")),
                 "2:9: ledger: it must be a map of keys and values, not \"l.db\"");
  EXPECT_PROBLEM(
      problems_in(small_house("site: [a]\nledger: { path: l.db }\n")),
      "1:7: site: it must be a name of letters, digits, \".\", \"_\" and \"-\", at most 64 "
      "of them, not a list of 1");
  EXPECT_PROBLEM(
      problems_with("intakes: { name: a }\n"),
      "3:10: intakes: it must be a list of maps of keys and values, each after a dash, not "
      "a map");
  EXPECT_PROBLEM(problems_with("instruments:\n  - A-0117\n"),
                 "4:5: an instrument must be a map of keys and values, not \"A-0117\"");
}

TEST(Settings, SayThatAValueIsLeftOutAtItsKey) {
  EXPECT_PROBLEM(problems_with("timezone:\n"),
                 "3:1: timezone: it must be the name of a time zone, such as Europe/Brussels, not "
                 "nothing");
}

TEST(Settings, TakeNothingForTheDefaultPolicyAndForEmptyLists) {
  EXPECT_THAT(problems_with("policy:\nreaders: ~\ninstruments:\nintakes: []\noutlets: null\n"),
              IsEmpty());
  EXPECT_FALSE(settings_with("policy:\n").policy.table);
  EXPECT_EQ(settings_with("policy:\n").policy.file, "");
}

TEST(Settings, KnowTimeZones) {
  EXPECT_EQ(settings_with("timezone: Europe/Brussels\n").timezone, "Europe/Brussels");
  const auto problems = problems_with("timezone: Europe/Brussel\n");
  ASSERT_EQ(problems.size(), 1u);
  EXPECT_THAT(problems[0], testing::StartsWith("/house/girdled.yaml:3:11: timezone: "));
  EXPECT_THAT(problems[0], testing::HasSubstr("Europe/Brussels"));
}

TEST(Settings, KnowTagsOfLanguagesAndMarkets) {
  EXPECT_EQ(settings_with("").language, "en");
  EXPECT_EQ(settings_with("").market, "");
  EXPECT_EQ(settings_with("language: pt-br\nmarket: us\n").language, "pt-BR");
  EXPECT_EQ(settings_with("language: no\nmarket: us\n").market, "us");
  EXPECT_PROBLEM(problems_with("language: de_AT\n"),
                 "3:11: language: it must be the tag of a language, such as en, de or pt-BR, not "
                 "\"de_AT\"");
  EXPECT_EQ(settings_with("language: de_AT\n").language, "en");
  EXPECT_PROBLEM(problems_with("market: isso\n"),
                 "3:9: market: it must be iso, cibjo or us, not \"isso\"; did you mean \"iso\"?");
}

constexpr const char* kPolicy = "name: a\nversion: 1\n";

std::vector<std::string> problems_with_policies(const std::string& lines, const std::string& next) {
  MemoryFiles files = small_house("site: a\nledger: { path: l.db }\n" + lines);
  files.file("/house/p.yaml", kPolicy).file("/house/s.yaml", kPolicy).file("/house/n.yaml", next);
  files.link("/house/link.yaml", "/house/p.yaml");
  return problems_in(files);
}

TEST(Settings, NameANextPolicyAndOneInTheShadow) {
  MemoryFiles files = small_house(
      "site: a\ntimezone: America/New_York\nledger: { path: l.db }\n"
      "next_policy: n.yaml\nshadow_policy: s.yaml\n");
  files.file("/house/n.yaml", "name: a\nversion: 2\nvalid_from: 2026-12-01\n");
  files.file("/house/s.yaml", "name: a\nversion: trial\nparameters: { required: 5 }\n");
  const Loaded loaded = load("/house/girdled.yaml", files);
  EXPECT_THAT(formatted(loaded.problems), IsEmpty());
  const Settings& settings = loaded.settings;
  EXPECT_EQ(settings.policy.file, "");
  EXPECT_EQ(settings.next_policy.value().version, "2");
  EXPECT_EQ(base::format_rfc3339(settings.next_policy->valid_from.value()),
            "2026-12-01T05:00:00.000Z");
  EXPECT_EQ(settings.shadow_policy.value().file, "/house/s.yaml");
  EXPECT_EQ(settings.shadow_policy->required, 5);
  EXPECT_FALSE(settings_with("next_policy:\nshadow_policy: ~\n").next_policy);
}

TEST(Settings, TellWhatIsWrongInEachPolicyWithItsFile) {
  MemoryFiles files = small_house(
      "site: a\nledger: { path: l.db }\npolicy: p.yaml\nnext_policy: n.yaml\n"
      "shadow_policy: none.yaml\n");
  files.file("/house/p.yaml", "name: a\n").file("/house/n.yaml", "version: 1\nvalid_from: x\n");
  EXPECT_THAT(
      problems_in(files),
      ElementsAre("/house/girdled.yaml:5:16: shadow_policy: the file /house/none.yaml does "
                  "not exist",
                  "/house/p.yaml:1:1: the policy needs the key \"version\" (Its version; "
                  "outcomes carry it)",
                  "/house/n.yaml:1:1: the policy needs the key \"name\" (Its name; outcomes "
                  "carry it)",
                  "/house/n.yaml:2:13: valid_from: it must be a date such as 2026-11-02, or "
                  "a time with its offset such as 2026-11-02T09:00:00+01:00, not \"x\""));
}

TEST(Settings, NeedToKnowWhenTheNextPolicyTakesOver) {
  EXPECT_PROBLEM(problems_with_policies("policy: p.yaml\nnext_policy: n.yaml\n", kPolicy),
                 "4:14: next_policy: /house/n.yaml does not say when it takes over; write there, "
                 "for instance, valid_from: 2026-11-02");
  EXPECT_THAT(problems_with_policies("next_policy: n.yaml\n",
                                     std::string(kPolicy) + "valid_from: 2026-11-02\n"),
              IsEmpty());
}

TEST(Settings, HaveAFileForEachPolicy) {
  EXPECT_PROBLEM(
      problems_with_policies("policy: p.yaml\nnext_policy: in/../p.yaml\n", kPolicy),
      "4:14: next_policy: /house/p.yaml is named by policy already (line 3); each policy "
      "has a file of its own");
  EXPECT_PROBLEM(problems_with_policies("shadow_policy: link.yaml\npolicy: p.yaml\n", kPolicy),
                 "3:16: shadow_policy: /house/link.yaml is named by policy already (line 4); each "
                 "policy has a file of its own");
  EXPECT_PROBLEM(problems_with_policies("next_policy: n.yaml\nshadow_policy: n.yaml\n",
                                        std::string(kPolicy) + "valid_from: 2026-11-02\n"),
                 "4:16: shadow_policy: /house/n.yaml is named by next_policy already (line 3); "
                 "each policy has "
                 "a file of its own");
}

std::vector<std::string> problems_with_known_stones(const std::string& stones) {
  return problems_with("instruments:\n  - serial: A\n    known_stones: " + stones + "\n");
}

TEST(Settings, CountWhatInstrumentsSaidOfKnownStones) {
  const auto stones =
      settings_with(
          "instruments:\n  - serial: A\n    known_stones:\n      source: acceptance test\n"
          "      natural: { natural: 1964, indeterminate: 36 }\n"
          "      simulant: { composite: 1, simulant: 1000000000 }\n  - { serial: B }\n")
          .instruments;
  ASSERT_TRUE(stones.at(0).known_stones);
  const KnownStones& known = *stones[0].known_stones;
  EXPECT_EQ(known.source, "acceptance test");
  EXPECT_EQ(known.mark.line, 6);
  EXPECT_THAT(known.counts[0], ElementsAre(1964, 0, 0, 0, 0, 36));
  EXPECT_THAT(known.counts[1], ElementsAre(0, 0, 0, 0, 0, 0));
  EXPECT_THAT(known.counts[4], ElementsAre(0, 0, 0, 1, 1000000000, 0));
  EXPECT_FALSE(stones.at(1).known_stones);
}

TEST(Settings, NeedASourceAndCountsOfKnownStones) {
  EXPECT_PROBLEM(
      problems_with_known_stones("{ natural: { natural: 5 } }"),
      "5:19: known_stones needs the key \"source\" (Who measured which stones, and when)");
  EXPECT_PROBLEM(problems_with_known_stones("{ source: a }"),
                 "5:19: known_stones needs at least one of natural, laboratory_grown, treated, "
                 "composite and simulant");
  EXPECT_PROBLEM(
      problems_with_known_stones("{ source: a, natural: {} }"),
      "5:41: natural needs at least one of natural, laboratory_grown, treated, composite, "
      "simulant and indeterminate");
  EXPECT_PROBLEM(problems_with_known_stones("{ source: a, natural: { natural: 0 } }"),
                 "5:41: natural: all counts are 0; count at least one run, or leave natural out");
  EXPECT_PROBLEM(problems_with_known_stones("{ source: a, natural: { natural: 1000000001 } }"),
                 "5:52: natural: it must be a whole number from 0 to 1000000000, not "
                 "\"1000000001\"");
  EXPECT_PROBLEM(problems_with_known_stones("{ source: a, natural: { natural: 5, simulent: 1 } }"),
                 "5:55: natural has no key \"simulent\"; did you mean \"simulant\"?");
  EXPECT_PROBLEM(
      problems_with_known_stones(
          "{ source: a, indeterminate: { natural: 5 }, natural: { natural: 5 } }"),
      "5:32: known_stones has no key \"indeterminate\"; it has source, natural, laboratory_grown, "
      "treated, composite and simulant");
}

TEST(Settings, CheckTheAddressOfTheApi) {
  EXPECT_THAT(problems_with("api: { listen: \"127.0.0.1:7447\" }\n"), IsEmpty());
  const Api api = settings_with("api: { listen: \"[::1]:7447\", hosts: [counter.local] }\n").api;
  EXPECT_EQ(api.host, "::1");
  EXPECT_EQ(api.port, 7447);
  EXPECT_THAT(api.hosts, ElementsAre("counter.local"));
  EXPECT_THAT(problems_with("api: { listen: \"localhost:7447\" }\n"), IsEmpty());
  EXPECT_PROBLEM(
      problems_with("api: { listen: 127.0.0.1 }\n"),
      "3:16: listen: it must be host:port with a port from 1 to 65535, not \"127.0.0.1\"");
}

// Whoever is not on this machine could read along, and could be read.
TEST(Settings, LetOthersReachTheApiByHttpsAlone) {
  EXPECT_PROBLEM(problems_with("api: { listen: \"0.0.0.0:7447\" }\n"),
                 "3:16: listen: others than this machine can reach 0.0.0.0: add certificate_file and "
                 "key_file, or listen at 127.0.0.1");
  EXPECT_PROBLEM(problems_with("api: { listen: \"128.0.0.1:7447\" }\n"),
                 "3:16: listen: others than this machine can reach 128.0.0.1: add certificate_file and "
                 "key_file, or listen at 127.0.0.1");
  EXPECT_PROBLEM(problems_with("api: { listen: \"counter:7447\" }\n"),
                 "3:16: listen: counter is a name; an address of this machine is needed, such as 127.0.0.1, "
                 "::1 or 0.0.0.0 for all of them");
  EXPECT_PROBLEM(problems_with("api: { listen: \"0.0.0.0:7447\", certificate_file: none.pem, key_file: k }\n"),
                 "3:50: certificate_file: the file /house/none.pem does not exist");
  EXPECT_PROBLEM(problems_with("api: { listen: \"127.0.0.1:7447\", key_file: k }\n"),
                 "3:34: key_file: it goes with the key \"certificate_file\", which is not there");
}

TEST(Settings, KnowLevelsOfTheLog) {
  EXPECT_PROBLEM(problems_with("log: { level: warn }\n"),
                 "3:15: level: it must be error, warning, info or debug, not \"warn\"");
  EXPECT_PROBLEM(
      problems_with("log: { level: debugg }\n"),
      "3:15: level: it must be error, warning, info or debug, not \"debugg\"; did you mean "
      "\"debug\"?");
}

TEST(Settings, NeedTheFoldersOfReaders) {
  EXPECT_THAT(problems_with("readers: [in, /house/in2]\n"), IsEmpty());
  EXPECT_PROBLEM(
      problems_with("readers: [in, plugins]\n"),
      "3:15: readers: the folder /house/plugins does not exist; make it, or name another");
  EXPECT_PROBLEM(problems_with("readers: [~]\n"), "3:11: readers: each must be a path, not ~");
}

TEST(Settings, TakeNoFolderForALedger) {
  EXPECT_PROBLEM(problems_in(small_house("site: a\nledger: { path: in }\n")),
                 "2:17: path: /house/in is a folder; name the file inside it");
}

TEST(Settings, TakeNoLedgerWhereNoFolderCanBeMade) {
  EXPECT_PROBLEM(problems_in(small_house("site: a\nledger: { path: m.yaml/state/l.db }\n")),
                 "2:17: path: /house/m.yaml is not a folder, so that no ledger can be made in it; "
                 "name another");
  EXPECT_THAT(problems_in(small_house("site: a\nledger: { path: new/state/l.db }\n")), IsEmpty());
}

TEST(Settings, AreTheDefaultsWhereTheyAreWrong) {
  // Whoever looks further with them would tell their faults once more, elsewhere.
  const Settings settings =
      load("/house/girdled.yaml", small_house("site: a b\nledger: { path: l.db }\n"
                                              "timezone: Mars\nreaders: in\nintakes:\n"
                                              "  - { name: a, folder: { path: in, settle: 2h }, "
                                              "reader: r, mapping: m.yaml, max_record: 10 }\n"))
          .settings;
  EXPECT_EQ(settings.site, "");
  EXPECT_EQ(settings.timezone, "UTC");
  EXPECT_THAT(settings.reader_folders, IsEmpty());
  ASSERT_EQ(settings.intakes.size(), 1u);
  EXPECT_EQ(settings.intakes[0].max_record_bytes, Intake().max_record_bytes);
  EXPECT_EQ(std::get<FolderIntake>(settings.intakes[0].source).settle, FolderIntake().settle);
}

TEST(Settings, ShowPathsInOneLine) {
  MemoryFiles files = small_house(
      "site: a\nledger: { path: \"l\\n\" }\npolicy: \"p\\n\"\nreaders: [\"r\\n\"]\n"
      "intakes:\n"
      "  - { name: a, folder: { path: \"n\\no\" }, reader: r, mapping: \"x\\ny\" }\n"
      "  - { name: b, serial: { device: \"d\\n\" }, reader: r, mapping: m.yaml }\n"
      "  - { name: c, serial: { device: \"d\\n\" }, reader: r, mapping: m.yaml }\n"
      "outlets:\n"
      "  - { name: o, webhook: { url: u, secret_file: s, ca_file: \"c\\na\" } }\n");
  files.folder("/house/l\n");
  const Problems problems = load("/house/girdled.yaml", files).problems;
  EXPECT_THAT(
      formatted(problems),
      ElementsAre(
          "/house/girdled.yaml:2:17: path: /house/l\\x0a is a folder; name the file inside it",
          "/house/girdled.yaml:3:9: policy: the file /house/p\\x0a does not exist",
          "/house/girdled.yaml:4:11: readers: the folder /house/r\\x0a does not exist; make it, or "
          "name another",
          "/house/girdled.yaml:6:32: path: the folder /house/n\\x0ao does not exist; make it, or "
          "name another",
          "/house/girdled.yaml:6:62: mapping: the file /house/x\\x0ay does not exist",
          "/house/girdled.yaml:8:34: device: /house/d\\x0a belongs to the intake \"b\" already; "
          "each has one intake",
          "/house/girdled.yaml:10:60: ca_file: the file /house/c\\x0aa does not exist"));
  for (const Problem& problem : problems) EXPECT_EQ(problem.text.find('\n'), std::string::npos);
}

TEST(Settings, ArePlacedRelativeToTheirFile) {
  const Settings settings = settings_with("readers: [in, ../house/./in2, /house/in]\n");
  EXPECT_EQ(settings.ledger, "/house/l.db");
  EXPECT_THAT(settings.reader_folders, ElementsAre("/house/in", "/house/in2", "/house/in"));
}

TEST(Instruments, KeepTheZerosOfTheirNumberAndTheTextOfTheirLimits) {
  const auto instruments = settings_with(
                               "instruments:\n"
                               "  - serial: 0117\n"
                               "    bench: no\n"
                               "    cycle: 45s\n"
                               "    scope: { color: \"[D..J]\", table_mm: '>= 1.5' }\n"
                               "    ambient: { humidity_pct: \"<= 60\" }\n")
                               .instruments;
  ASSERT_EQ(instruments.size(), 1u);
  EXPECT_EQ(instruments[0].serial, "0117");
  EXPECT_EQ(instruments[0].bench, "no");
  EXPECT_EQ(instruments[0].cycle, std::chrono::seconds(45));
  EXPECT_EQ(instruments[0].mark.line, 4);
  EXPECT_EQ(instruments[0].scope.at("table_mm").text, ">= 1.5");
  EXPECT_EQ(instruments[0].scope.at("table_mm").mark.column, 41);
  EXPECT_EQ(instruments[0].scope.size(), 2u);
  EXPECT_EQ(instruments[0].ambient.at("humidity_pct").text, "<= 60");
}

TEST(Instruments, SayThatALimitIsATextInQuotes) {
  const auto settings = "instruments:\n  - { serial: A, scope: { carat: [0.03..10] } }\n";
  EXPECT_PROBLEM(problems_with(settings),
                 "4:34: carat: it must be a unary test in quotes, such as \"[0.03..10]\" or "
                 "\">= 1.5\", not a list of 1");
  EXPECT_THAT(settings_with(settings).instruments.at(0).scope, IsEmpty());
}

TEST(Instruments, ComeOnce) {
  EXPECT_PROBLEM(problems_with("instruments:\n  - serial: A-1\n  - serial: \"A-1\"\n"),
                 "5:13: serial: the instrument \"A-1\" is here already (line 4); each comes once");
}

TEST(Instruments, SayWhatACycleIs) {
  EXPECT_PROBLEM(
      problems_with("instruments: [{ serial: A, cycle: 45 }]\n"),
      "3:35: cycle: it must be a duration from 1ms to 1d, such as 200ms, 45s, 2min, 8h or "
      "30d, not \"45\"");
  EXPECT_PROBLEM(
      problems_with("instruments: [{ serial: A, cycle: 0s }]\n"),
      "3:35: cycle: it must be a duration from 1ms to 1d, such as 200ms, 45s, 2min, 8h or "
      "30d, not \"0s\"");
}

TEST(Intakes, ComeOnceByName) {
  EXPECT_PROBLEM(
      problems_with("intakes:\n"
                    "  - { name: a, folder: { path: in }, reader: r, mapping: m.yaml }\n"
                    "  - { name: a, folder: { path: in2 }, reader: r, mapping: m.yaml }\n"),
      "5:13: name: the intake \"a\" is here already (line 4); each comes once");
}

TEST(Intakes, AreToldByTheirLinesWhereTheirNamesAreWrong) {
  EXPECT_THAT(
      problems_with("intakes:\n"
                    "  - { name: \"a\\nb\", folder: { path: in }, reader: r, mapping: m.yaml }\n"
                    "  - { name: \"a\\nb\", folder: { path: in }, reader: r, mapping: m.yaml }\n"),
      ElementsAre("/house/girdled.yaml:4:13: name: it must be a name of letters, digits, \".\", "
                  "\"_\" and \"-\", at most 64 of them, not \"a\\x0ab\"",
                  "/house/girdled.yaml:5:13: name: it must be a name of letters, digits, \".\", "
                  "\"_\" and \"-\", at most 64 of them, not \"a\\x0ab\"",
                  "/house/girdled.yaml:5:37: path: /house/in belongs to the intake of line 4 "
                  "already; each has one intake"));
}

TEST(Intakes, HaveRoomForWhatReadersNeed) {
  EXPECT_PROBLEM(problems_with_source("folder: { path: in }\n    max_record: 63"),
                 "6:17: max_record: it must be a size from 64 to 64MiB, such as 4096, 64KiB or "
                 "1MiB, not \"63\"");
  EXPECT_THAT(problems_with_source("folder: { path: in }\n    max_record: 64"), IsEmpty());
}

TEST(Intakes, NeedExactlyOneSource) {
  EXPECT_PROBLEM(problems_with_source("max_record: 1MiB"),
                 "4:5: an intake needs exactly one of folder, serial, tcp and post; it has none");
  EXPECT_PROBLEM(
      problems_with_source("folder: { path: in }\n    tcp: { connect: \"h:1\" }"),
      "4:5: an intake needs exactly one of folder, serial, tcp and post; it has folder and tcp");
}

TEST(Intakes, NeedTheFolderToBeThere) {
  EXPECT_PROBLEM(problems_with_source("folder: { path: inn }"),
                 "5:21: path: the folder /house/inn does not exist; make it, or name another");
  EXPECT_PROBLEM(problems_with_source("folder: { path: m.yaml }"),
                 "5:21: path: /house/m.yaml is not a folder");
}

TEST(Intakes, HaveAFolderEach) {
  MemoryFiles files = small_house(
      "site: a\nledger: { path: l.db }\nintakes:\n"
      "  - { name: a, folder: { path: in }, reader: r, mapping: m.yaml }\n"
      "  - { name: b, folder: { path: by-another-name }, reader: r, mapping: m.yaml }\n");
  files.link("/house/by-another-name", "/house/in");
  EXPECT_PROBLEM(problems_in(files),
                 "5:32: path: /house/in belongs to the intake \"a\" already; each has one intake");
}

TEST(Intakes, HaveADeviceAndAnAddressEach) {
  EXPECT_THAT(
      problems_with("intakes:\n"
                    "  - { name: a, serial: { device: /dev/x }, reader: r, mapping: m.yaml }\n"
                    "  - { name: b, serial: { device: /dev/./x }, reader: r, mapping: m.yaml }\n"
                    "  - { name: c, tcp: { connect: \"h:1\" }, reader: r, mapping: m.yaml }\n"
                    "  - { name: d, tcp: { connect: \"h:1\" }, reader: r, mapping: m.yaml }\n"),
      ElementsAre(
          "/house/girdled.yaml:5:34: device: /dev/x belongs to the intake \"a\" already; each "
          "has one intake",
          "/house/girdled.yaml:7:32: connect: h:1 belongs to the intake \"c\" already; each "
          "has one intake"));
}

TEST(Intakes, ReadAFolderWithItsDefaults) {
  const auto intakes =
      settings_with("intakes: [{ name: a, folder: { path: in }, reader: r, mapping: m.yaml }]\n")
          .intakes;
  ASSERT_EQ(intakes.size(), 1u);
  const auto& folder = std::get<FolderIntake>(intakes[0].source);
  const FolderIntake usual;
  EXPECT_EQ(folder.path, "/house/in");
  EXPECT_EQ(folder.match, usual.match);
  EXPECT_EQ(folder.growing, usual.growing);
  EXPECT_EQ(folder.settle, usual.settle);
  EXPECT_EQ(folder.scan_every, usual.scan_every);
  EXPECT_EQ(folder.move_done, usual.move_done);
  EXPECT_EQ(folder.max_bytes, usual.max_bytes);
  EXPECT_EQ(intakes[0].max_record_bytes, Intake().max_record_bytes);
  EXPECT_EQ(intakes[0].isolate, Intake::Isolate::kForeign);
  EXPECT_EQ(intakes[0].mapping.fields.size(), 3u);
}

TEST(Intakes, ReadAFolderAsItSays) {
  const auto settings = settings_with(
      "intakes:\n"
      "  - name: a\n"
      "    folder: { path: in, match: \"*.csv\", content: growing, settle: 200ms, scan_every: "
      "1min,\n"
      "              max_size: 1GiB }\n"
      "    reader: delimited\n"
      "    options: { delimiter: ;, header: no, comment: \"\", quote: ~ }\n"
      "    mapping: m.yaml\n"
      "    max_record: 64KiB\n");
  const auto& intake = settings.intakes.at(0);
  const auto& folder = std::get<FolderIntake>(intake.source);
  EXPECT_EQ(folder.match, "*.csv");
  EXPECT_TRUE(folder.growing);
  EXPECT_EQ(folder.settle, Millis(200));
  EXPECT_EQ(folder.scan_every, std::chrono::minutes(1));
  EXPECT_EQ(folder.max_bytes, 1u << 30);
  EXPECT_EQ(intake.max_record_bytes, 65536u);
  ASSERT_EQ(intake.options.size(), 4u);
  EXPECT_EQ(intake.options[0].first, "delimiter");
  EXPECT_EQ(intake.options[1].second.text, "no");
  EXPECT_EQ(intake.options[1].second.mark.line, 8);
  EXPECT_EQ(intake.options[1].second.mark.column, 38);
  EXPECT_EQ(intake.options[2].second.text, "");
  EXPECT_EQ(intake.options[3].second.text, "~");
}

TEST(Intakes, SayWhichReadersHaveAProcessOfTheirOwn) {
  const auto isolate = [](const std::string& word) {
    return settings_with(
               "intakes: [{ name: a, folder: { path: in }, reader: r, mapping: m.yaml, isolate: " +
               word + " }]\n")
        .intakes.at(0)
        .isolate;
  };
  EXPECT_EQ(isolate("foreign"), Intake::Isolate::kForeign);
  EXPECT_EQ(isolate("always"), Intake::Isolate::kAlways);
  EXPECT_EQ(isolate("never"), Intake::Isolate::kNever);
  EXPECT_PROBLEM(problems_with_source("folder: { path: in }\n    isolate: no"),
                 "6:14: isolate: it must be foreign, always or never, not \"no\"");
}

TEST(Intakes, SayWhatAFolderMayHold) {
  EXPECT_PROBLEM(
      problems_with_source("folder: { path: in, content: hole }"),
      "5:34: content: it must be whole or growing, not \"hole\"; did you mean \"whole\"?");
  EXPECT_PROBLEM(
      problems_with_source("folder: { path: in, settle: 5 }"),
      "5:33: settle: it must be a duration from 0ms to 1h, such as 200ms, 45s, 2min, 8h or "
      "30d, not \"5\"");
  EXPECT_PROBLEM(
      problems_with_source("folder: { path: in, max_size: 1MB }"),
      "5:35: max_size: it must be a size from 1 to 64GiB, such as 4096, 64KiB or 1MiB, not "
      "\"1MB\"");
  EXPECT_PROBLEM(problems_with_source("folder: { path: in, match: \"a/*.csv\" }"),
                 "5:32: match: it is held against the names of files in the folder, which have no "
                 "\"/\"");
  EXPECT_PROBLEM(problems_with_source("folder: { path: in, content: growing, done: move }"),
                 "5:49: done: a growing file stays where it is; move goes with content: whole");
}

TEST(Intakes, SayThatAnOptionNeedsAText) {
  EXPECT_THAT(
      problems_with_source("folder: { path: in }\n    options: { a: [b], c: }"),
      ElementsAre("/house/girdled.yaml:6:19: options: \"a\" must have a text, not a list of 1",
                  "/house/girdled.yaml:6:24: options: \"c\" must have a text, not nothing; write "
                  "\"\" for an empty text"));
}

TEST(Intakes, NeedTheMappingToBeThere) {
  EXPECT_PROBLEM(
      problems_with("intakes: [{ name: a, folder: { path: in }, reader: r, mapping: x.yaml }]\n"),
      "3:64: mapping: the file /house/x.yaml does not exist");
  EXPECT_PROBLEM(
      problems_with("intakes: [{ name: a, folder: { path: in }, reader: r, mapping: in2 }]\n"),
      "3:64: mapping: /house/in2 is not a file");
}

TEST(SerialIntakes, ReadALineWithItsDefaults) {
  const auto settings = settings_with(
      "intakes: [{ name: a, serial: { device: /dev/ttyUSB0 }, reader: r, mapping: m.yaml }]\n");
  const auto& serial = std::get<SerialIntake>(settings.intakes.at(0).source);
  const SerialIntake usual;
  EXPECT_EQ(serial.device, "/dev/ttyUSB0");
  EXPECT_EQ(serial.baud, usual.baud);
  EXPECT_EQ(serial.data_bits, usual.data_bits);
  EXPECT_EQ(serial.parity, usual.parity);
  EXPECT_EQ(serial.stop_bits, usual.stop_bits);
  EXPECT_EQ(serial.framing.kind, Framing::Kind::kLine);
  EXPECT_EQ(serial.framing.max_bytes, usual.framing.max_bytes);
}

TEST(SerialIntakes, ReadALineAsItSays) {
  const auto settings = settings_with(
      "intakes:\n"
      "  - name: a\n"
      "    serial: { device: dev, baud: 19200, data_bits: 7, parity: even, stop_bits: 2,\n"
      "              frame: { kind: block, start: 05, end: 0d0a, check: CRC-16/MODBUS,\n"
      "                       check_as: hex, order: low_first, max: 1KiB,\n"
      "                       range: { start: included, end: excluded } } }\n"
      "    reader: r\n"
      "    mapping: m.yaml\n");
  const auto& serial = std::get<SerialIntake>(settings.intakes.at(0).source);
  EXPECT_EQ(serial.device, "/house/dev");
  EXPECT_EQ(serial.baud, 19200u);
  EXPECT_EQ(serial.data_bits, 7);
  EXPECT_EQ(serial.parity, SerialIntake::Parity::kEven);
  EXPECT_EQ(serial.stop_bits, 2);
  EXPECT_EQ(serial.framing.kind, Framing::Kind::kBlock);
  EXPECT_EQ(serial.framing.start, "\x05");
  EXPECT_EQ(serial.framing.end, "\r\n");
  EXPECT_EQ(serial.framing.check, "CRC-16/MODBUS");
  EXPECT_TRUE(serial.framing.check_hex);
  EXPECT_TRUE(serial.framing.check_low_byte_first);
  EXPECT_TRUE(serial.framing.check_with_start);
  EXPECT_FALSE(serial.framing.check_with_end);
  EXPECT_EQ(serial.framing.max_bytes, 1024u);
}

TEST(SerialIntakes, ReadABlockWithItsDefaults) {
  for (const char* frame : {"block", "{ kind: block }"}) {
    const auto settings =
        settings_with("intakes: [{ name: a, serial: { device: /d, frame: " + std::string(frame) +
                      " }, reader: r, mapping: m.yaml }]\n");
    const Framing framing = std::get<SerialIntake>(settings.intakes.at(0).source).framing;
    const Framing usual;
    EXPECT_EQ(framing.kind, Framing::Kind::kBlock) << frame;
    EXPECT_EQ(framing.start, usual.start) << frame;
    EXPECT_EQ(framing.end, usual.end) << frame;
    EXPECT_EQ(framing.check, usual.check) << frame;
    EXPECT_EQ(framing.check_with_start, usual.check_with_start) << frame;
    EXPECT_EQ(framing.check_with_end, usual.check_with_end) << frame;
  }
}

TEST(SerialIntakes, ReadFramesOfKindAstm) {
  const auto framing_of = [](const std::string& frame) {
    const auto settings =
        settings_with("intakes: [{ name: a, serial: { device: /d, frame: " + frame +
                      " }, reader: r, mapping: m.yaml }]\n");
    return std::get<SerialIntake>(settings.intakes.at(0).source).framing;
  };
  const Framing usual = framing_of("astm");
  EXPECT_EQ(usual.kind, Framing::Kind::kAstm);
  EXPECT_EQ(usual.timeout, Millis(30000));  // the receiver's timer of ASTM E1381
  EXPECT_TRUE(usual.accept.none());
  // Each switch by its name, and no other.
  for (size_t i = 0; i < std::size(kAstmDeviationNames); ++i) {
    const Framing one = framing_of("{ kind: astm, timeout: 5s, accept: { " +
                                   std::string(kAstmDeviationNames[i]) + ": true } }");
    EXPECT_EQ(one.timeout, Millis(5000));
    EXPECT_EQ(one.accept.count(), 1u);
    EXPECT_TRUE(one.accept[i]) << kAstmDeviationNames[i];
  }
}

TEST(SerialIntakes, SayWhatFramesOfKindAstmMayHold) {
  EXPECT_PROBLEM(problems_with_source("serial: { device: /d, frame: { kind: astm, check: xor8 } }"),
                 "5:55: check: only a block has it; frames of kind astm have the marks and the "
                 "checksum of ASTM E1381");
  EXPECT_PROBLEM(problems_with_source("serial: { device: /d, frame: { kind: line, timeout: 5s } }"),
                 "5:57: timeout: only frames of kind astm have it");
  EXPECT_PROBLEM(problems_with_source(
                     "serial: { device: /d, frame: { kind: block, accept: { no_cr: true } } }"),
                 "5:57: accept: only frames of kind astm have it");
  EXPECT_PROBLEM(
      problems_with_source("serial: { device: /d, frame: { kind: astm, accept: { no_cr: true, "
                           "split_records: true } } }"),
      "5:86: split_records: with no_cr a record ends at ETX, with split_records it goes on: one of "
      "the two");
  EXPECT_PROBLEM(problems_with_source(
                     "serial: { device: /d, frame: { kind: astm, accept: { no_crlff: true } } }"),
                 "5:58: accept has no key \"no_crlff\"; did you mean \"no_crlf\"?");
}

TEST(SerialIntakes, SayWhatALineMayHold) {
  EXPECT_PROBLEM(problems_with_source("serial: { device: \"\" }"),
                 "5:23: device: it must be a path, not \"\"");
  EXPECT_PROBLEM(
      problems_with_source("serial: { device: /d, baud: 9700 }"),
      "5:33: baud: it must be 300, 600, 1200, 1800, 2400, 4800, 9600, 19200, 38400, 57600, "
      "115200, 230400, 460800, 500000, 576000, 921600, 1000000, 1152000, 2000000, 3000000, "
      "3500000 or 4000000, not \"9700\"; did you mean \"9600\"?");
  EXPECT_PROBLEM(
      problems_with_source("serial: { device: /d, frame: lines }"),
      "5:34: frame: it must be line, block or astm, or a map, not \"lines\"; did you mean "
      "\"line\"?");
  EXPECT_PROBLEM(problems_with_source("serial: { device: /d, frame: { kind: line, start: 02 } }"),
                 "5:55: start: only a block has it; a line ends at CR, LF or CRLF");
  EXPECT_PROBLEM(
      problems_with_source("serial: { device: /d, frame: { kind: block, start: 2 } }"),
      "5:56: start: it must be one to eight bytes, each as two hexadecimal digits, such as "
      "02 or 0d0a, not \"2\"");
  EXPECT_PROBLEM(problems_with_source("serial: { device: /d, frame: { kind: block, order: "
                                      "low_first } }"),
                 "5:56: order: says how to check, and no check is named");
  EXPECT_PROBLEM(
      problems_with_source("serial: { device: /d, frame: { kind: block, check: sum8-hex, "
                           "check_as: bytes } }"),
      "5:76: check_as: sum8-hex is always written as hex");
}

TEST(SerialIntakes, NameTheNearestCheck) {
  EXPECT_PROBLEM(
      problems_with_source("serial: { device: /d, frame: { kind: block, check: crc-16/modbuss } }"),
      "5:56: check: it must be one of the 115 words of the reference, such as xor8, neg-sum8, "
      "sum8-hex and crc-3/gsm, not \"crc-16/modbuss\"; did you mean \"crc-16/modbus\"?");
}

TEST(TcpIntakes, ReadAnAddress) {
  const auto settings = settings_with(
      "intakes: [{ name: a, tcp: { connect: \"[fd00::7]:4001\" }, reader: r, mapping: m.yaml }]\n");
  const auto& tcp = std::get<TcpIntake>(settings.intakes.at(0).source);
  EXPECT_EQ(tcp.host, "fd00::7");
  EXPECT_EQ(tcp.port, 4001);
  EXPECT_PROBLEM(
      problems_with_source("tcp: { connect: \"h:99999\" }"),
      "5:21: connect: it must be host:port with a port from 1 to 65535, not \"h:99999\"");
}

TEST(PostIntakes, BoundTheirDocuments) {
  const auto max_of = [](const char* source) {
    const auto settings = settings_with(std::string("intakes: [{ name: a, ") + source + ", reader: r, mapping: m.yaml }]\n");
    return std::get<PostIntake>(settings.intakes.at(0).source).max_bytes;
  };
  EXPECT_EQ(max_of("post: {}"), 1u << 20);
  EXPECT_EQ(max_of("post: { max_size: 64KiB }"), 64u << 10);
  EXPECT_PROBLEM(problems_with_source("post: { max_size: 2MiB }"),
                 "5:23: max_size: it must be a size from 64 to 1MiB, such as 4096, 64KiB or 1MiB, not \"2MiB\"");
}

}  // namespace
}  // namespace girdle::config
