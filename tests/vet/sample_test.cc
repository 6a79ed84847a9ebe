#include "vet/sample.h"

#include <gmock/gmock.h>

#include <filesystem>
#include <fstream>
#include <set>

#include "vet/mutation.h"

namespace girdle::vet {
namespace {

namespace fs = std::filesystem;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::Pair;

class SampleTest : public testing::Test {
 protected:
  SampleTest() {
    std::string name = (fs::temp_directory_path() / "girdle-samples-XXXXXX").string();
    folder_ = mkdtemp(name.data());
  }
  ~SampleTest() override { fs::remove_all(folder_); }

  void put(const std::string& name, const std::string& bytes) {
    fs::create_directories((folder_ / name).parent_path());
    std::ofstream(folder_ / name, std::ios::binary) << bytes;
  }
  std::string error() {
    const auto samples = load_samples({folder_}, {});
    return samples ? "loaded" : samples.error().text;
  }

  fs::path folder_;
};

TEST_F(SampleTest, AreDocumentsWithWhatLiesBesideThem) {
  put("b/002.csv", "x");
  put("a/001.csv", "a\n1\n");
  put("a/001.options.yaml", "delimiter: \";\"\nheader: yes\n");
  put("a/001.expected.json",
      R"({"records": [{"a": "1"}], "asides": [{"offset": 2, "length": 1, "line": 2, "reason": "no"}]})");
  put("README.md", "not one");
  put(".hidden", "not one");
  const auto samples = load_samples({folder_}, {{"delimiter", ","}});
  ASSERT_TRUE(samples) << samples.error().text;
  ASSERT_EQ(samples->size(), 2u);
  const Sample &one = (*samples)[0], &two = (*samples)[1];
  EXPECT_EQ(one.name, "a/001.csv");
  EXPECT_EQ(one.bytes, "a\n1\n");
  EXPECT_THAT(one.options, ElementsAre(Pair("delimiter", ";"), Pair("header", "yes")));
  ASSERT_TRUE(one.expected);
  EXPECT_THAT(one.expected->records, ElementsAre(ElementsAre(Pair("a", "1"))));
  ASSERT_EQ(one.expected->asides.size(), 1u);
  EXPECT_EQ(one.expected->asides[0].reason, "no");
  EXPECT_THAT(two.options, ElementsAre(Pair("delimiter", ",")));
  EXPECT_FALSE(two.expected);
}

TEST_F(SampleTest, OfMoreFoldersAreNamedWithThem) {
  put("accept/001.csv", "x");
  put("aside/001.csv", "y");
  const auto samples = load_samples({folder_ / "accept", folder_ / "aside"}, {});
  ASSERT_TRUE(samples) << samples.error().text;
  EXPECT_EQ((*samples)[0].name, "accept/001.csv");
  EXPECT_EQ((*samples)[1].name, "aside/001.csv");
}

TEST_F(SampleTest, ThatCannotBeReadAreTold) {
  EXPECT_THAT(error(), HasSubstr("has no sample: put documents of the instrument into it"));
  EXPECT_THAT(load_samples({"/no/such/folder"}, {}).error().text, HasSubstr("/no/such/folder"));
  put("001.csv", "x");
  put("001.options.yaml", "delimiter: [\n");
  EXPECT_THAT(error(), HasSubstr("001.options.yaml:"));
  put("001.options.yaml", "delimiter: ','\n");
  put("001.expected.json", "{\"records\": 5}");
  EXPECT_THAT(error(), HasSubstr("001.expected.json: "));
}

TEST(WithDefaults, FillsInWhatIsLeftOut) {
  reading::Manifest manifest;
  manifest.options.resize(3);
  manifest.options[0].name = "a";
  manifest.options[0].default_value = "1";
  manifest.options[1].name = "b";
  manifest.options[1].default_value = "2";
  manifest.options[2].name = "c";
  EXPECT_THAT(reading::with_defaults(manifest, {{"b", "9"}}), ElementsAre(Pair("b", "9"), Pair("a", "1")));
}

TEST(Mutation, IsTheSameForTheSameNumber) {
  const std::vector<Sample> samples = {
      {"a", "a,b\n1,2\n", {}, {}}, {"b", std::string(100'000, 'x'), {}, {}}, {"c", "", {}, {}}};
  std::set<std::string> different;
  for (size_t index = 0; index < samples.size(); ++index) {
    for (uint64_t number = 1; number < 300; ++number) {
      const std::string bytes = changed(samples, index, number);
      EXPECT_EQ(bytes, changed(samples, index, number));
      EXPECT_LE(bytes.size(), 32u << 10);
      different.insert(bytes);
    }
  }
  EXPECT_GT(different.size(), 600u);
}

}  // namespace
}  // namespace girdle::vet
