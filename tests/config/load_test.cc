// Whole configurations: the documented examples, everything wrong in one pass, and the disk.
#include "config/load.h"

#include <gmock/gmock.h>

#include <fstream>

#include "small_house.h"

namespace girdle::config {
namespace {

using testing::ElementsAre;
using testing::IsEmpty;

// The examples of the design, 4.1 and 4.2.
constexpr const char* kDesignSettings = R"(site: quay-street
timezone: Europe/Brussels            # of instruments that write local time (IANA name)
ledger: { path: state/ledger.db }    # SQLite
api: { listen: 127.0.0.1:7447 }
policy: policy.yaml                  # left out: the default policy below
instruments:
  - serial: A-0117
    bench: counter-1
    cycle: 45s                       # shortest time between two measurements
    scope: { color: "[D..J]", carat: "[0.03..10]", table_mm: ">= 1.5" }
    ambient: { temperature_c: "[-5..23]", humidity_pct: "<= 60" }
intakes:
  - name: counter-1-exports
    folder: { path: inbox/counter-1, match: "*.csv", content: whole }   # whole | growing
    reader: delimited
    options: { delimiter: ";", encoding: windows-1252 }
    mapping: counter-1.mapping.yaml
  - name: counter-2-line
    serial: { device: /dev/ttyUSB0, baud: 9600, frame: line }
    reader: json
    mapping: counter-2.mapping.yaml
  - name: stock-list
    folder: { path: inbox/stock, match: "*.csv", content: whole }
    reader: delimited
    mapping: stock.mapping.yaml
outlets:
  - name: till
    webhook: { url: "https://till.example/hooks/screening", secret_file: secrets/till }
    retry: [5s, 5min, 30min, 2h, 5h, 10h, 14h, 20h, 24h]
    in_flight: 8
)";
constexpr const char* kDesignMapping = R"(record: reading
fields:
  instrument:    { value: A-0117 }    # a constant; or  { from: device }
  run:           { from: no }
  measured_at:   { from: [date, time], form: "%d.%m.%Y %H:%M:%S" }
  stock_number:  { from: item }
  finding:       { from: result, words: { "A": natural, "B": simulant, "C": indeterminate, "-": void } }
  temperature_c: { from: temp, decimal: "," }
)";

MemoryFiles design_house() {
  MemoryFiles files;
  files.folder("/etc/girdle/inbox/counter-1").folder("/etc/girdle/inbox/stock");
  files.file("/etc/girdle/girdled.yaml", kDesignSettings);
  files.file("/etc/girdle/policy.yaml", "name: default\nversion: 1\n");
  files.file("/etc/girdle/counter-1.mapping.yaml", kDesignMapping);
  files.file("/etc/girdle/counter-2.mapping.yaml", kDesignMapping);
  files.file("/etc/girdle/stock.mapping.yaml",
             "record: declaration\nfields: { stock_number: { from: item } }\n");
  return files;
}

TEST(Load, ReadsTheExampleOfTheDesign) {
  const Loaded loaded = load("/etc/girdle/girdled.yaml", design_house());
  EXPECT_THAT(formatted(loaded.problems), IsEmpty());
  const Settings& settings = loaded.settings;
  EXPECT_EQ(settings.file, "/etc/girdle/girdled.yaml");
  EXPECT_EQ(settings.site, "quay-street");
  EXPECT_EQ(settings.timezone, "Europe/Brussels");
  EXPECT_EQ(settings.ledger, "/etc/girdle/state/ledger.db");
  EXPECT_EQ(settings.instruments.at(0).ambient.at("temperature_c").text, "[-5..23]");
  ASSERT_EQ(settings.intakes.size(), 3u);
  EXPECT_EQ(std::get<FolderIntake>(settings.intakes[0].source).path, "/etc/girdle/inbox/counter-1");
  EXPECT_EQ(std::get<SerialIntake>(settings.intakes[1].source).device, "/dev/ttyUSB0");
  EXPECT_EQ(settings.intakes[2].mapping.record, model::RecordKind::kDeclaration);
  const auto& finding = settings.intakes[0].mapping.fields.at(4);
  EXPECT_EQ(finding.words.at("-"), "void");
  EXPECT_EQ(settings.intakes[0].mapping.fields.at(2).from.size(), 2u);
  EXPECT_EQ(settings.intakes[0].mapping.fields.at(5).decimal_mark, ',');
  EXPECT_EQ(settings.outlets.at(0).retry.size(), 9u);
}

TEST(Load, GivesWhatIsSaidOfADefaultPolicyFile) {
  const Policy policy = load("/etc/girdle/girdled.yaml", design_house()).settings.policy;
  EXPECT_EQ(policy.required, 2);
  EXPECT_EQ(policy.reopen_after, std::chrono::hours(30 * 24));
  EXPECT_FALSE(policy.table);
}

TEST(Load, TellsAllThatIsWrongInOnePassAndInTheOrderOfTheFiles) {
  MemoryFiles files = small_house(
      "sit: a\n"
      "ledger: { path: l.db }\n"
      "policy: p.yaml\n"
      "instruments:\n"
      "  - { serial: A, cycle: soon }\n"
      "  - { serial: A }\n"
      "intakes:\n"
      "  - name: a b\n"
      "    folder: { path: nowhere, content: hole }\n"
      "    mapping: m.yaml\n"
      "  - { name: c, tcp: { connect: h }, reader: r, mapping: x.yaml }\n"
      "outlets:\n"
      "  - { name: till, webhook: { url: \"https://h/\" }, in_flight: 0 }\n");
  files.file("/house/p.yaml", "name: a\nversion: 1\nreopen_after: never\n");
  files.file("/house/m.yaml",
             "record: reading\nfields:\n  instrument: { from: a, value: b }\n  finding: { value: "
             "good }\n");
  EXPECT_THAT(
      problems_in(files),
      ElementsAre(
          "/house/girdled.yaml:1:1: the configuration has no key \"sit\"; did you mean \"site\"?",
          "/house/girdled.yaml:1:1: the configuration needs the key \"site\" (The shop, office or "
          "vault; outcomes carry it)",
          "/house/girdled.yaml:5:25: cycle: it must be a duration from 1ms to 1d, such as 200ms, "
          "45s, "
          "2min, 8h or 30d, not \"soon\"",
          "/house/girdled.yaml:6:15: serial: the instrument \"A\" is here already (line 5); each "
          "comes once",
          "/house/girdled.yaml:8:5: an intake needs the key \"reader\" (The reader that takes the "
          "documents apart, such as `delimited` or `json`)",
          "/house/girdled.yaml:8:11: name: it must be a name of letters, digits, \".\", \"_\" and "
          "\"-\", at most 64 of them, not \"a b\"",
          "/house/girdled.yaml:9:21: path: the folder /house/nowhere does not exist; make it, or "
          "name "
          "another",
          "/house/girdled.yaml:9:39: content: it must be whole or growing, not \"hole\"; did you "
          "mean "
          "\"whole\"?",
          "/house/girdled.yaml:11:32: connect: it must be host:port with a port from 1 to 65535, "
          "not "
          "\"h\"",
          "/house/girdled.yaml:11:57: mapping: the file /house/x.yaml does not exist",
          "/house/girdled.yaml:13:28: webhook needs at least one of secret_file, bearer_file, "
          "basic, oauth, certificate and anonymous; the receiver has to know who sends; where it "
          "cannot, say  anonymous: true  in so many words",
          "/house/girdled.yaml:13:62: in_flight: it must be a whole number from 1 to 64, not \"0\"",
          "/house/p.yaml:3:15: reopen_after: it must be a duration from 1ms to 3650d, such as "
          "200ms, "
          "45s, 2min, 8h or 30d, not \"never\"",
          "/house/m.yaml:3:3: a reading needs the key \"measured_at\" (When it was measured)",
          "/house/m.yaml:3:15: instrument needs exactly one of from and value; it has from and "
          "value",
          "/house/m.yaml:4:21: finding: it must be natural, laboratory_grown, treated, composite, "
          "simulant, indeterminate or void, not \"good\""));
}

TEST(Load, SaysThatTheFileIsNotThere) {
  EXPECT_THAT(problems_in(MemoryFiles()),
              ElementsAre("/house/girdled.yaml: the file /house/girdled.yaml does not exist"));
}

TEST(Load, RefusesAFileThatIsTooLarge) {
  EXPECT_THAT(
      problems_in(small_house("site: a\n#" + std::string(1 << 20, 'x'))),
      ElementsAre("/house/girdled.yaml: /house/girdled.yaml is larger than 1024 KiB: it is no "
                  "configuration"));
}

TEST(Load, KeepsWhatCouldBeReadBesideTheProblems) {
  const Loaded loaded =
      load("/house/girdled.yaml", small_house("site: a\nledger: { path: l.db }\ntimezone: Mars\n"));
  EXPECT_FALSE(loaded.ok());
  EXPECT_EQ(loaded.settings.ledger, "/house/l.db");
}

TEST(Load, TellsAProblemInAnAliasOnce) {
  EXPECT_THAT(problems_with("instruments:\n  - { serial: A, scope: &s { colr: x } }\n"
                            "  - { serial: B, scope: *s }\n"),
              ElementsAre("/house/girdled.yaml:4:30: scope has no key \"colr\"; did you mean "
                          "\"color\"?"));
}

TEST(Load, ReadsFromTheDisk) {
  std::string name = testing::TempDir() + "girdle_config_XXXXXX";
  ASSERT_NE(mkdtemp(name.data()), nullptr);
  const std::filesystem::path folder = name;
  std::filesystem::create_directories(folder / "in");
  std::ofstream(folder / "girdled.yaml")
      << "site: a\nledger: { path: state/l.db }\nintakes:\n"
         "  - { name: a, folder: { path: in }, reader: json, mapping: m.yaml }\n"
         "  - { name: b, folder: { path: in2 }, reader: json, mapping: m.yaml }\n";
  std::ofstream(folder / "m.yaml") << kSmallMapping;
  const Loaded loaded = load(folder / "." / "girdled.yaml");
  EXPECT_THAT(formatted(loaded.problems),
              ElementsAre((folder / "girdled.yaml").string() + ":5:32: path: the folder " +
                          (folder / "in2").string() + " does not exist; make it, or name another"));
  EXPECT_EQ(loaded.settings.intakes.at(0).mapping.fields.size(), 3u);
  EXPECT_FALSE(std::filesystem::exists(folder / "state"));
  std::filesystem::remove_all(folder);
}

}  // namespace
}  // namespace girdle::config
