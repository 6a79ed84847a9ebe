#include "reading/manifest.h"

#include <gmock/gmock.h>

#include <fstream>

namespace girdle::reading {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

constexpr const char* kGood = R"(name: rows
version: 1.2.0
abi: 1
library: rows.so
summary: Rows
sparse: true
options:
  - { name: delimiter, type: character, default: ",", summary: Between fields }
  - { name: header, type: choice, choices: ["yes", "no"], default: "yes" }
  - { name: skip, type: integer, default: "0" }
  - { name: strict, type: boolean }
  - { name: columns, type: text }
)";

class ManifestTest : public testing::Test {
 protected:
  ManifestTest()
      : folder_(std::filesystem::path(testing::TempDir()) /
                ("manifests-" + std::to_string(getpid()))) {
    std::filesystem::remove_all(folder_);
    std::filesystem::create_directories(folder_);
  }
  ~ManifestTest() override { std::filesystem::remove_all(folder_); }

  std::filesystem::path write(const std::string& name, std::string_view text) {
    std::filesystem::create_directories((folder_ / name).parent_path());
    std::ofstream(folder_ / name) << text;
    return folder_ / name;
  }
  std::string error_of(std::string_view text) {
    const auto manifest = read_manifest(write("x.reader.yaml", text));
    return manifest ? "read" : manifest.error().text;
  }
  std::string error_without(const std::string& line) {
    std::string text = kGood;
    text.erase(text.find(line), line.size());
    return error_of(text);
  }

  std::filesystem::path folder_;
};

TEST_F(ManifestTest, SaysWhatAReaderIs) {
  const auto manifest = read_manifest(write("rows.reader.yaml", kGood));
  ASSERT_TRUE(manifest) << manifest.error().text;
  EXPECT_EQ(manifest->name, "rows");
  EXPECT_EQ(manifest->version, "1.2.0");
  EXPECT_EQ(manifest->abi, 1u);
  EXPECT_EQ(manifest->library, folder_ / "rows.so");
  EXPECT_TRUE(manifest->sparse);
  ASSERT_EQ(manifest->options.size(), 5u);
  EXPECT_EQ(manifest->options[1].type, OptionRule::Type::kChoice);
  EXPECT_THAT(manifest->options[1].choices, ElementsAre("yes", "no"));
  EXPECT_EQ(manifest->options[1].default_value, "yes");
  EXPECT_EQ(manifest->options[3].default_value, std::nullopt);
}

TEST_F(ManifestTest, NeedsNameVersionAbiAndLibrary) {
  EXPECT_THAT(error_without("name: rows\n"), HasSubstr("x.reader.yaml: it has no name"));
  EXPECT_THAT(error_without("version: 1.2.0\n"), HasSubstr("no version"));
  EXPECT_THAT(error_without("abi: 1\n"), HasSubstr("no abi"));
  EXPECT_THAT(error_without("library: rows.so\n"), HasSubstr("no library"));
  EXPECT_EQ(error_without("summary: Rows\n"), "read");
}

TEST_F(ManifestTest, NamesAFileBesideItAndNothingElse) {
  EXPECT_THAT(error_of("{name: x, version: 1, abi: 1, library: ../x.so}"), HasSubstr("without /"));
  EXPECT_THAT(error_of("{name: x, version: 1, abi: 1, library: /x.so}"), HasSubstr("without /"));
}

TEST_F(ManifestTest, TellsWhatIsWrongWithItsOptions) {
  const std::string head = "{name: x, version: 1, abi: 1, library: x.so, options: [";
  EXPECT_THAT(error_of(head + "{type: text}]}"), HasSubstr("an option has no name"));
  EXPECT_THAT(error_of(head + "{name: a, type: txt}]}"),
              HasSubstr("option a: its type must be text, character"));
  EXPECT_THAT(error_of(head + "{name: a, type: text}, {name: a, type: text}]}"),
              HasSubstr("option a is there twice"));
  EXPECT_THAT(error_of(head + "{name: a, type: integer, default: x}]}"),
              HasSubstr("option a: its default must be a whole"));
}

TEST_F(ManifestTest, TellsTheLineOfBrokenYaml) {
  EXPECT_THAT(error_of("name: x\nversion: [1\n"), HasSubstr("x.reader.yaml:3: "));
  EXPECT_THAT(error_of("name: x\nversion: 1\nabi: one\nlibrary: x.so"),
              HasSubstr("x.reader.yaml:3: "));
  EXPECT_THAT(error_of("just a text"), HasSubstr("it is no manifest of a reader"));
  EXPECT_THAT(error_of(""), HasSubstr("it is no manifest of a reader"));
}

TEST_F(ManifestTest, CatalogueTakesTheFirstOfTwoFoldersAndTellsProblems) {
  write("a/one.reader.yaml", "{name: one, version: 1, abi: 1, library: one.so}");
  write("a/broken.reader.yaml", "{name: ");
  write("a/readme.yaml", "{name: no-manifest}");
  write("b/one.reader.yaml", "{name: one, version: 2, abi: 1, library: one.so}");
  write("b/two.reader.yaml", "{name: two, version: 2, abi: 1, library: two.so}");
  std::vector<std::string> problems;
  const Catalogue catalogue =
      Catalogue::scan({folder_ / "a", folder_ / "absent", folder_ / "b"}, &problems);
  EXPECT_THAT(catalogue.names(), ElementsAre("one", "two"));
  EXPECT_EQ(catalogue.find("one")->version, "1");
  EXPECT_EQ(catalogue.find("three"), nullptr);
  EXPECT_THAT(problems, ElementsAre(HasSubstr("broken.reader.yaml:1")));
}

TEST_F(ManifestTest, ChecksEachOptionAndTellsAllThatAreWrong) {
  const auto manifest = *read_manifest(write("rows.reader.yaml", kGood));
  const auto problems_of = [&](Options options) {
    std::vector<std::string> texts;
    for (const auto& [option, problem] : check_options(manifest, options)) texts.push_back(problem);
    return texts;
  };
  EXPECT_THAT(problems_of({{"delimiter", ";"},
                           {"header", "no"},
                           {"skip", "-3"},
                           {"strict", "true"},
                           {"columns", "a,b"}}),
              IsEmpty());
  EXPECT_THAT(problems_of({{"delimiter", "\xC2\xA7"}}), IsEmpty());  // one character of two bytes
  EXPECT_THAT(problems_of({{"delimiter", "tab"}}), IsEmpty());
  EXPECT_THAT(problems_of({{"delimeter", ";"},
                           {"delimiter", ";;"},
                           {"header", "Yes"},
                           {"skip", "1.5"},
                           {"strict", "1"}}),
              ElementsAre("the reader rows has no option \"delimeter\"; did you mean delimiter?",
                          "option delimiter must be one character, tab, or none, not \";;\"",
                          "option header must be yes or no, not \"Yes\"",
                          "option skip must be a whole number, not \"1.5\"",
                          "option strict must be true or false"));
  EXPECT_THAT(problems_of({{"x", "1"}}),
              ElementsAre(HasSubstr("it has delimiter, header, skip, strict and columns")));
  EXPECT_THAT(problems_of({{"delimiter", ""}, {"skip", "-"}, {"skip", ""}}), testing::SizeIs(3));
}

}  // namespace
}  // namespace girdle::reading
