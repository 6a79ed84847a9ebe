#include "reading/library.h"

#include <gmock/gmock.h>

namespace girdle::reading {
namespace {

using testing::AllOf;
using testing::HasSubstr;

Manifest manifest(std::string_view name) {
  const Catalogue catalogue = Catalogue::scan({GIRDLE_TEST_READERS}, nullptr);
  const Manifest* const found = catalogue.find(name);
  EXPECT_TRUE(found) << name;
  return found ? *found : Manifest();
}

std::string error(const Manifest& manifest) {
  const auto library = Library::load(manifest);
  return library ? "loaded" : library.error().text;
}

TEST(Library, LoadsAReader) {
  const auto library = Library::load(manifest("odd"));
  ASSERT_TRUE(library) << library.error().text;
  EXPECT_STREQ(library->descriptor().name, "odd");
}

TEST(Library, SaysThatAManifestIsOfAnotherVersionOfTheAbiBeforeLoadingAnything) {
  EXPECT_EQ(error(manifest("other-abi")),
            "reader other-abi: its manifest says version 2 of the reader ABI, this girdled speaks "
            "version 1");
  EXPECT_EQ(error(manifest("older-abi")),
            "reader older-abi: its manifest says version 0 of the reader ABI, this girdled speaks "
            "version 1");
}

TEST(Library, SaysThatALibrarySpeaksAnotherVersion) {
  EXPECT_THAT(error(manifest("newer")),
              AllOf(HasSubstr("newer.so does not speak version 1"), HasSubstr("SDK")));
}

TEST(Library, SaysWhichFunctionIsMissing) {
  EXPECT_THAT(
      error(manifest("half-library")),
      HasSubstr("half-library.so does not export girdle_reader_descriptor_at: it is no reader"));
  EXPECT_THAT(error(manifest("half")), HasSubstr("leaves out its function finish"));
}

TEST(Library, SaysThatTheFileIsNotThere) {
  EXPECT_THAT(error(manifest("absent")),
              HasSubstr("absent.so is not there, and its manifest names it"));
}

TEST(Library, SaysThatTheFileIsNoLibrary) {
  EXPECT_THAT(error(manifest("text")), HasSubstr("text.reader.yaml cannot be loaded: "));
}

TEST(Library, SaysThatTheReaderIsNotInItAndWhichAre) {
  EXPECT_THAT(
      error(manifest("unpromised")),
      HasSubstr("has no reader unpromised, which its manifest promises; it has odd and half"));
  EXPECT_THAT(error(manifest("small")),
              HasSubstr("has no reader small"));  // its descriptor is of another size
}

TEST(Library, SaysThatManifestAndLibraryAreOfTwoVersions) {
  Manifest other = manifest("odd");
  other.version = "0.2.0";
  EXPECT_THAT(error(other),
              HasSubstr("odd.so is version \"0.1.0\", its manifest is version \"0.2.0\""));
}

}  // namespace
}  // namespace girdle::reading
