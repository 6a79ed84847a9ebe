// The libraries as they are shipped: loaded by path, what they export, and that the manifests tell
// the truth.
#include <gmock/gmock.h>
#include <yaml-cpp/yaml.h>

#include <array>
#include <cstdio>
#include <cstring>
#include <set>

#include "plugins/test_host.h"

extern "C" unsigned girdle_header_version_in_c(void);

namespace girdle::plugins_test {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;

std::string path_of(const std::string& file) { return GIRDLE_READER_FOLDER "/" + file; }
YAML::Node manifest(const std::string& reader) {
  return YAML::LoadFile(path_of(reader + ".reader.yaml"));
}

std::string output_of(const std::string& command) {
  std::string out;
  FILE* pipe = popen(command.c_str(), "r");
  if (pipe == nullptr) return out;
  std::array<char, 4096> block;
  for (size_t n; (n = fread(block.data(), 1, block.size(), pipe)) > 0;) out.append(block.data(), n);
  pclose(pipe);
  return out;
}

// What a reader is tried on.
struct Sample {
  std::string_view document;  // two records, something to set aside, a third record
  std::string_view begun;     // a document that has not come to its end
  Options needed;             // without which there is no reader
  Options other;              // with which it is another reader
};

const std::map<std::string, Sample> kSamples = {
    {"astm",
     {"H|\\^&\rP|1\rO|1|A\rR|1\rR|2\rQ|1\rR|3\rL|1|N\r",
      "H|\\^&\rP|1\rO|1|A\rR|1\rR",
      {},
      {{"escapes", "keep"}}}},
    {"columns", {"ab\ncd\nx\nef\n", "ab\ncd\nx", {{"fields", "a 1-2"}}, {{"fields", "a 1-3"}}}},
    {"delimited", {"a,b\n1,2\n3,4\n5\n6,7\n", "a,b\n1,2\n3,4\n5\n6,7\n", {}, {{"delimiter", ";"}}}},
    {"json", {"{\"a\":1}\n{\"a\":2}\nx\n{\"a\":3}\n", "[{\"a\":1},{", {}, {{"shape", "lines"}}}},
    {"labelled", {"a:1\n\fa:2\n\fx\n\fa:3\n\f", "a:1\n\fa:2\n", {}, {{"end", "-"}}}},
    {"xml",
     {"<a><b>1</b><b>2</b>x<b>3</b></a>",
      "<a>\n<b>1</b><b>2",
      {{"record", "/a/b"}},
      {{"record", "/a/c"}}}},
};

std::vector<std::string> names_of_samples() {
  std::vector<std::string> names;
  for (const auto& [name, sample] : kSamples) names.push_back(name);
  return names;
}

class Shipped : public testing::TestWithParam<std::string> {
 protected:
  static const Sample& sample() { return kSamples.at(GetParam()); }
  static std::string_view document() { return sample().document; }
  // These, and those that the reader needs.
  static Options with(Options options = {}) {
    options.insert(sample().needed.begin(), sample().needed.end());
    return options;
  }
  Library open() {
    return open_library(path_of(manifest(GetParam())["library"].as<std::string>()));
  }
};
INSTANTIATE_TEST_SUITE_P(Readers, Shipped, testing::ValuesIn(names_of_samples()));

TEST_P(Shipped, ExportsTwoFunctionsAndNothingElse) {
  const std::string library = path_of(manifest(GetParam())["library"].as<std::string>());
  const std::string symbols = output_of("nm -D --defined-only --format=posix " + library);
  std::set<std::string> names;
  for (size_t at = 0; at < symbols.size();) {
    const size_t end = symbols.find('\n', at);
    names.insert(symbols.substr(at, symbols.find(' ', at) - at));
    at = end == std::string::npos ? symbols.size() : end + 1;
  }
  EXPECT_THAT(names, ElementsAre("girdle_reader_descriptor_at", "girdle_reader_negotiate"));
}

TEST_P(Shipped, NegotiatesTheOneVersionThatItKnows) {
  const Library library = open();
  ASSERT_EQ(library.error, "");
  uint32_t chosen = 77;
  EXPECT_EQ(library.negotiate(2, 9, &chosen), GIRDLE_UNSUPPORTED);
  EXPECT_EQ(library.negotiate(0, 0, &chosen), GIRDLE_UNSUPPORTED);
  EXPECT_EQ(chosen, 77u);
  EXPECT_EQ(library.negotiate(1, 9, &chosen), GIRDLE_OK);
  EXPECT_EQ(chosen, 1u);
  EXPECT_EQ(girdle_header_version_in_c(), 1u);
}

TEST_P(Shipped, DescribesItselfAsItsManifestDoes) {
  const Library library = open();
  ASSERT_EQ(library.error, "");
  const girdle_reader_descriptor* reader = library.descriptor_at(0);
  ASSERT_NE(reader, nullptr);
  EXPECT_EQ(library.descriptor_at(1), nullptr);
  EXPECT_EQ(library.descriptor_at(0), reader);
  EXPECT_GE(reader->size, sizeof(girdle_reader_descriptor));
  EXPECT_EQ(reader->name, GetParam());
  const YAML::Node said = manifest(GetParam());
  EXPECT_EQ(said["name"].as<std::string>(), reader->name);
  EXPECT_EQ(said["version"].as<std::string>(), reader->version);
  EXPECT_EQ(said["abi"].as<uint32_t>(), GIRDLE_READER_ABI);
  EXPECT_EQ(reader->extension("nobody.has-this/1"), nullptr);
}

TEST_P(Shipped, TakesTheDefaultsOfItsManifest) {
  Options defaults;
  const std::set<std::string> types = {"text", "character", "integer", "boolean", "choice"};
  for (const YAML::Node& option : manifest(GetParam())["options"]) {
    EXPECT_TRUE(types.contains(option["type"].as<std::string>()));
    EXPECT_NE(option["summary"].as<std::string>(), "");
    if (option["default"])
      defaults[option["name"].as<std::string>()] = option["default"].as<std::string>();
  }
  const Library library = open();
  ASSERT_EQ(library.error, "");
  const Heard said = read(*library.descriptor_at(0), {"{\"a\":1}\n"}, with(defaults));
  const Heard unsaid = read(*library.descriptor_at(0), {"{\"a\":1}\n"}, with());
  EXPECT_EQ(said.refusal, "");
  EXPECT_EQ(said.text(), unsaid.text());
}

TEST_P(Shipped, TakesEveryChoiceOfItsManifest) {
  const Library library = open();
  ASSERT_EQ(library.error, "");
  for (const YAML::Node& option : manifest(GetParam())["options"]) {
    for (const YAML::Node& choice : option["choices"]) {
      const Options options = with({{option["name"].as<std::string>(), choice.as<std::string>()}});
      EXPECT_EQ(read(*library.descriptor_at(0), {}, options).refusal, "");
    }
    if (!option["choices"]) continue;
    const Heard other =
        read(*library.descriptor_at(0), {}, with({{option["name"].as<std::string>(), "?"}}));
    EXPECT_THAT(other.refusal, HasSubstr(option["name"].as<std::string>()));
  }
}

TEST_P(Shipped, RefusesLimitsBelowTheLeast) {
  const Library library = open();
  ASSERT_EQ(library.error, "");
  EXPECT_THAT(read(*library.descriptor_at(0), {}, with(), true, {63, 1}).refusal,
              HasSubstr("limits"));
  EXPECT_THAT(read(*library.descriptor_at(0), {}, with(), true, {64, 0}).refusal,
              HasSubstr("limits"));
  EXPECT_EQ(read(*library.descriptor_at(0), {}, with(), true, {64, 1}).refusal, "");
}

TEST_P(Shipped, StopsWhenTheHostSaysSo) {
  const Library library = open();
  ASSERT_EQ(library.error, "");
  for (uint64_t calls = 1; calls <= 3; ++calls) {
    const Heard heard =
        read(*library.descriptor_at(0), {document()}, with(), true, {1 << 20, 100, calls});
    EXPECT_EQ(heard.status, GIRDLE_STOP);
    EXPECT_EQ(heard.records.size() + heard.asides.size(), calls);
    EXPECT_THAT(heard.breaches, testing::IsEmpty());
  }
}

TEST_P(Shipped, RefusesAStateThatIsNotItsOwn) {
  const Library library = open();
  ASSERT_EQ(library.error, "");
  const girdle_reader_descriptor& reader = *library.descriptor_at(0);
  const std::string good = read(reader, {document()}, with(), false).state;
  ASSERT_NE(good, "");
  EXPECT_EQ(read(reader, {}, with(), false, {}, good).refusal, "");
  for (size_t size = 1; size < good.size(); ++size) {
    EXPECT_NE(read(reader, {}, with(), false, {}, good.substr(0, size)).refusal, "") << size;
  }
  EXPECT_NE(read(reader, {}, with(), false, {}, good + "x").refusal, "");
  EXPECT_THAT(read(reader, {}, with(sample().other), false, {}, good).refusal, HasSubstr("state"));
}

// A state comes back from a disk: whatever it holds, it is refused or read on with, and nothing
// breaks.
TEST_P(Shipped, SurvivesAnAlteredState) {
  const Library library = open();
  ASSERT_EQ(library.error, "");
  const girdle_reader_descriptor& reader = *library.descriptor_at(0);
  const std::string good = read(reader, {sample().begun}, with(), false).state;
  size_t refused = 0;
  for (size_t i = 0; i < good.size(); ++i) {
    for (const char c : {'\0', '\1', '\2', '\5', '\x80', '\xFF'}) {
      std::string bad = good;
      bad[i] = c;
      const Heard heard = read(reader, {"{\"a\":1},]}\",:x\n"}, with(), true, {}, bad);
      refused += !heard.refusal.empty();
      EXPECT_TRUE(heard.status == GIRDLE_OK);
    }
  }
  EXPECT_GT(refused, good.size());
}

}  // namespace
}  // namespace girdle::plugins_test
