#include "draft/write_draft.h"

#include <gmock/gmock.h>
#include <yaml-cpp/yaml.h>

#include "config/load.h"
#include "draft/yaml_text.h"

namespace girdle::draft {
namespace {

using testing::Contains;
using testing::HasSubstr;
using testing::Not;

// yaml-cpp is the other side.
TEST(YamlText, ReadsBackAsItself) {
  for (const std::string text :
       {"no",       "R1042", "",      " a ",      "a: b",          "a #b", "- x",
        "\"",       "\\",    "Größe", "%d.%m.%Y", "@id",           "{x}",  "a\nb\tc",
        "\x01\x7F", "0117",  "~",     "1,5",      "\xE2\x80\xA8x", "!t",   "&a",
        "*a"}) {
    const std::string yaml = "{ key: " + yaml_text(text) + ", other: 1 }";
    EXPECT_EQ(YAML::Load(yaml)["key"].as<std::string>(), text) << yaml;
    EXPECT_EQ(YAML::Load("key: " + yaml_text(text))["key"].as<std::string>(), text);
    EXPECT_EQ(YAML::Load(yaml_text(text) + ": 1").begin()->first.as<std::string>(), text);
  }
}

TEST(YamlComment, NeverBecomesSomethingElse) {
  EXPECT_EQ(yaml_comment("a\nrecord: scan", "  "), "  # a\\x0arecord: scan\n");
  const std::string text = yaml_comment(std::string(300, 'x') + " y " + std::string(200, 'z'), "");
  for (const auto& line : {text.substr(0, 2), text.substr(text.find('\n') + 1, 2)}) {
    EXPECT_EQ(line, "# ");
  }
}

MappingDraft small_mapping() {
  MappingDraft draft;
  FieldDraft& finding = draft.fields.emplace_back();
  finding.field = "finding";
  finding.from = {"re sult"};
  finding.evidence = {"two words"};
  finding.words = {{"A", std::string(kFillIn), "once"},
                   {"no: \"x\" # ", std::string(kFillIn), "once"}};
  FieldDraft& run = draft.fields.emplace_back();
  run.field = "run";
  run.from = {"no"};
  run.only_offered = true;
  draft.left = {"extra.x: { from: x }   # always \"1\""};
  return draft;
}

TEST(WrittenMapping, IsYamlWithTheEvidenceAsComments) {
  const std::string text = write_mapping(small_mapping(), "Drafted from x.");
  const YAML::Node yaml = YAML::Load(text);
  EXPECT_EQ(yaml["record"].as<std::string>(), "reading");
  EXPECT_EQ(yaml["fields"]["finding"]["words"]["no: \"x\" # "].as<std::string>(), "FILL_IN");
  EXPECT_FALSE(yaml["fields"]["run"]);
  EXPECT_THAT(text, HasSubstr("  # two words\n"));
  EXPECT_THAT(text, HasSubstr("  # run: { from: no }\n"));
  EXPECT_EQ(open_points_in(text), 2u);
}

ConfigurationParts small_parts() {
  ConfigurationParts parts;
  parts.name = "counter-1";
  parts.source.kind = Source::Kind::kSerial;
  parts.source.settings = {settled("device", "/dev/ttyUSB0"), settled("baud", "9600")};
  parts.source.frame = {settled("kind", "block"), settled("check", "xor8"),
                        settled("range.start", "included")};
  parts.proposal.reader = "delimited";
  parts.proposal.options = {settled("delimiter", ";"), settled("ignore", "-+\nPage \\d+")};
  parts.needs_zone = true;
  parts.has_instrument = true;
  return parts;
}

TEST(WrittenConfiguration, IsOneThatTheLoaderUnderstandsButForWhatIsOpen) {
  const std::string text = write_configuration(small_parts(), "Drafted from x.");
  config::MemoryFiles files;
  files.file("/house/girdled.yaml", text).file("/house/counter-1.mapping.yaml", "record: scan\n");
  const config::Loaded loaded = config::load("/house/girdled.yaml", files);
  std::vector<std::string> problems;
  for (const config::Problem& problem : loaded.problems) {
    if (problem.file == "/house/girdled.yaml") problems.push_back(problem.text);
  }
  EXPECT_EQ(problems.size(), open_points_in(text));
  EXPECT_THAT(problems, Contains(HasSubstr("site: still to be filled in")));
  EXPECT_THAT(problems, Contains(HasSubstr("timezone: still to be filled in")));
  EXPECT_THAT(problems, Contains(HasSubstr("serial: still to be filled in")));
  ASSERT_EQ(loaded.settings.intakes.size(), 1u);
  const auto& line = std::get<config::SerialIntake>(loaded.settings.intakes[0].source);
  EXPECT_EQ(line.framing.check, "xor8");
  EXPECT_TRUE(line.framing.check_with_start);
  EXPECT_EQ(loaded.settings.intakes[0].options[1].second.text, "-+\nPage \\d+");
}

// Each place where a draft may leave a word open.
TEST(FillIn, IsRefusedAtItsPlaceWhateverTheKeyIs) {
  const std::string config =
      "site: FILL_IN\ntimezone: FILL_IN\nledger: { path: FILL_IN }\ninstruments:\n"
      "  - serial: FILL_IN\nintakes:\n  - name: FILL_IN\n"
      "    serial: { device: FILL_IN, baud: FILL_IN, frame: { kind: block, check: FILL_IN } }\n"
      "    reader: FILL_IN\n    options: { encoding: FILL_IN }\n    mapping: m.yaml\n";
  const std::string mapping =
      "record: reading\nfields:\n  instrument: { value: FILL_IN }\n"
      "  measured_at: { from: FILL_IN, form: FILL_IN }\n  run: { from: [a, FILL_IN] }\n"
      "  finding: { from: r, words: { A: FILL_IN } }\n  color: { from: c, words: { A: FILL_IN } }\n"
      "  carat: { from: w, unit: FILL_IN, decimal: FILL_IN }\n";
  config::MemoryFiles files;
  files.file("/house/girdled.yaml", config).file("/house/m.yaml", mapping);
  const config::Loaded loaded = config::load("/house/girdled.yaml", files);
  size_t told = 0;
  for (const config::Problem& problem : loaded.problems) {
    EXPECT_THAT(problem.text, HasSubstr("still to be filled in")) << config::format(problem);
    EXPECT_GT(problem.mark.line, 0);
    ++told;
  }
  EXPECT_EQ(told, open_points_in(config) + open_points_in(mapping));
}

}  // namespace
}  // namespace girdle::draft
