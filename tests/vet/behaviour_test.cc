// Every way in which a reader may go wrong is found, by the check that is for it, and said in words
// that help.
#include <gmock/gmock.h>

#include <cstring>
#include <filesystem>
#include <fstream>

#include "vet/apart.h"
#include "vet/vet.h"

namespace girdle::vet {
namespace {

namespace fs = std::filesystem;
using testing::Contains;
using testing::HasSubstr;
using testing::IsEmpty;

const char* const kSample =
    "item R1042 result A\n"
    "item R1043 result B carat 0.50 note a line of more than sixty-four bytes in all\n"
    "\n"
    "!not this one\n"
    "item R1044 result A\n"
    "item caf\xC3\xA9 result -\n"
    "item R1045 result A\n"
    "item R1046 without an end";

// A folder of samples, gone with it.
class Samples {
 public:
  explicit Samples(const std::string& bytes) {
    std::string name = (fs::temp_directory_path() / "girdle-vet-XXXXXX").string();
    folder_ = mkdtemp(name.data());
    put("001-lines.txt", bytes);
  }
  void put(const std::string& name, const std::string& bytes) const {
    std::ofstream(folder_ / name, std::ios::binary) << bytes;
  }
  ~Samples() { fs::remove_all(folder_); }
  const fs::path& folder() const { return folder_; }

 private:
  fs::path folder_;
};

Report vet_reader(const std::string& manifest, const reading::Options& options,
                  const std::vector<std::string>& only, int milliseconds = 1500) {
  const Samples samples(kSample);
  const Effort effort{.time = std::chrono::milliseconds(milliseconds),
                      .call = std::chrono::milliseconds(500),
                      .only = only,
                      .keep = {}};
  auto report = vet({manifest, {samples.folder()}, options}, effort, [](const Check&) {});
  EXPECT_TRUE(report) << report.error().text;
  return report ? *report : Report();
}

Report vet_wayward(const std::string& behaviour, const std::vector<std::string>& only,
                   int milliseconds = 1500) {
  return vet_reader(GIRDLE_VET_READERS "/wayward.reader.yaml", {{"behaviour", behaviour}}, only,
                    milliseconds);
}

std::string told(const Report& report) {
  std::string out;
  for (const Check& check : report.checks) {
    for (const Fault& fault : check.faults)
      out += check.name + ' ' + fault.rule + " (" + fault.where + "): " + fault.what +
             "; right: " + fault.right + '\n';
  }
  return out;
}

std::vector<std::string> rules(const Report& report) {
  std::vector<std::string> rules;
  for (const Check& check : report.checks)
    for (const Fault& fault : check.faults) rules.push_back(fault.rule);
  return rules;
}

TEST(Vet, ApprovesAReaderThatDoesAllRight) {
  const Report report = vet_wayward("good", {}, 400);
  // Under a sanitizer some checks cannot be made.
  EXPECT_EQ(report.verdict(),
            kSanitized ? Report::Verdict::kIncomplete : Report::Verdict::kApproved)
      << told(report);
  EXPECT_THAT(report.checks, testing::SizeIs(check_names().size()));
  for (const Check& check : report.checks)
    EXPECT_EQ(check.tried > 0, check.result == Check::Result::kOk) << check.name;
}

struct Behaviour {
  const char *name, *check, *rule, *words;
};

void PrintTo(const Behaviour& behaviour, std::ostream* out) { *out << behaviour.name; }

class Caught : public testing::TestWithParam<Behaviour> {};

TEST_P(Caught, ByTheCheckThatIsForIt) {
  const Behaviour& behaviour = GetParam();
  const std::string rule = behaviour.rule;
  if (kSanitized && (rule == "outside" || rule == "leaks.memory" || rule == "bounds.memory" ||
                     rule == "repeat.records"))
    GTEST_SKIP() << "a sanitizer's own memory and system calls are in the way";
  // What shows only after many bytes, on a machine that has other things to do as well.
  const bool takes_long = rule == "cost.time" || rule == "bounds.memory";
  const int time = takes_long ? 10'000 : 1500;
  const Report report = vet_wayward(behaviour.name, {behaviour.check}, time);
  EXPECT_EQ(report.verdict(), Report::Verdict::kRefused);
  if (kSanitized && told(report).find("ends the process") != std::string::npos)
    return;  // its crash
  EXPECT_THAT(rules(report), Contains(behaviour.rule)) << told(report);
  EXPECT_THAT(told(report), HasSubstr(std::string(behaviour.check) + ' ' + behaviour.rule));
  EXPECT_THAT(told(report), HasSubstr(behaviour.words));
}

std::string name_of(const testing::TestParamInfo<Behaviour>& info) { return info.param.name; }

INSTANTIATE_TEST_SUITE_P(
    Records, Caught,
    testing::Values(
        Behaviour{"null_record", "records", "record.size", "a null pointer"},
        Behaviour{"small_record", "records", "record.size", "whose size is 8"},
        Behaviour{"null_names", "records", "record.null", "without its names or values"},
        Behaviour{"lost_value", "records", "text.null", "gives a value without its bytes"},
        Behaviour{"value_that_cannot_be_read", "records", "text.unreadable", "cannot be read"},
        Behaviour{"endless_value", "records", "text.flood", "gives a value of"},
        Behaviour{"value_not_utf8", "records", "text.utf8",
                  "of \"text\" that is not UTF-8: caf\\xe9"},
        Behaviour{"empty_record", "records", "record.empty", "a record of 0 bytes at 0"},
        Behaviour{"beyond", "records", "record.beyond", "record at 1000 of 19 bytes; 200 were fed"},
        Behaviour{"line_end_too_many", "records", "record.order",
                  "after it told of bytes up to 59"},
        Behaviour{"wraps", "records", "record.beyond", "at 18446744073709551614"},
        Behaviour{"backwards", "records", "record.order", "in the order of their offsets"},
        Behaviour{"wrong_line", "records", "line.wrong", "it begins on line 1"},
        Behaviour{"lines_go_back", "records", "line.back", "from line 100 to line 99"},
        Behaviour{"name_twice", "records", "record.twice", "the name \"text\" twice"},
        Behaviour{"other_layout", "records", "record.layout", "layout 1 to records of other names"},
        Behaviour{"too_many_fields", "records", "record.fields",
                  "of 3000 fields; max_fields is 1000"},
        Behaviour{"small_aside", "records", "aside.size", "whose size is 4"},
        Behaviour{"reserved_aside", "records", "aside.reserved", "set it to 0"},
        Behaviour{"no_reason", "records", "aside.reason", "sets aside with no reason"},
        Behaviour{"reason_of_two_lines", "records", "aside.reason", "not one line"},
        Behaviour{"aside_beyond", "records", "aside.beyond", "tells of aside at 1101 of 13 bytes"},
        Behaviour{"aside_backwards", "records", "aside.order", "do not overlap"},
        Behaviour{"refuses_late", "records", "refuse.outside", "calls refuse outside create"},
        Behaviour{"says_nothing", "records", "samples.empty", "gives no record of any of them"},
        Behaviour{"lost_reason", "records", "text.null", "gives a reason without its bytes"},
        Behaviour{"flood", "records", "aside.again", "again and again"},
        Behaviour{"other_host", "records", "call.host", "another host than create was given"},
        Behaviour{"emits_on_a_thread", "records", "call.thread", "from a thread of its own"},
        Behaviour{"emits_in_create", "records", "call.outside",
                  "calls emit outside feed and finish"},
        Behaviour{"emits_in_save", "records", "call.outside", "calls emit outside feed and finish"},
        Behaviour{"stops_unasked", "records", "status.unasked-stop", "the host did not say stop"},
        Behaviour{"gives_up", "records", "status.failed", "set aside what cannot be read"},
        Behaviour{"odd_status", "records", "status.unknown", "returns 77"},
        Behaviour{"throws", "records", "exception", "girdle::kit::describe"},
        Behaviour{"throws_a_number", "records", "exception", "lets an exception out"},
        Behaviour{"throws_in_consumed", "records", "exception", "lets an exception out"},
        Behaviour{"done_too_early", "records", "consumed.beyond",
                  "201 bytes are done with, of 200"},
        Behaviour{"never_done", "records", "consumed.behind", "after it told of bytes up to 174"},
        Behaviour{"goes_back", "cuts", "consumed.back", "consumed never goes back"},
        Behaviour{"never_finishes", "records", "consumed.finish", "emit the last record"},
        Behaviour{"cannot_save", "records", "save.failed", "save returns 2"},
        Behaviour{"lost_state", "records", "save.text", "a state of 9 bytes without them"},
        Behaviour{"refuses", "records", "options.sample", "this cannot be"},
        Behaviour{"refuses_in_two_lines", "records", "refuse.reason", "this\\x0acannot be"},
        Behaviour{"refuses_twice", "records", "refuse.again", "refuse once"},
        Behaviour{"refuses_and_lives", "records", "create.both", "return NULL after refuse"},
        Behaviour{"refuses_in_silence", "records", "create.silent", "does not say why"}),
    name_of);

INSTANTIATE_TEST_SUITE_P(
    Processes, Caught,
    testing::Values(
        Behaviour{"crashes", "records", "crash", "crashes in feed (SIGSEGV)"},
        Behaviour{"asserts", "records", "crash",
                  "(SIGABRT); it wrote: wayward: 1 == 2 does not hold"},
        Behaviour{"hangs", "records", "hang", "does not come back in feed"},
        Behaviour{"sleeps_for_ever", "records", "hang", "does not come back in feed"},
        Behaviour{"exits", "records", "exit", "ends the process in feed"},
        Behaviour{"reads_behind", "records", "lent.behind",
                  "reads beyond what it was lent in feed"},
        Behaviour{"reads_an_earlier_feed", "cuts", "lent.afterwards",
                  "for an earlier call in feed"},
        Behaviour{"reads_the_options_later", "records", "lent.afterwards",
                  "copy what is to be kept"},
        Behaviour{"prints", "records", "output", "writes to a stream: reading 200 bytes"},
        Behaviour{"opens_a_file", "outside", "outside", "opens a file (openat) in feed"},
        Behaviour{"opens_a_socket", "outside", "outside", "opens a socket (socket) in feed"},
        Behaviour{"starts_a_thread", "outside", "outside", "starts a thread or a process (clone)"},
        Behaviour{"crashes_at_nul", "mutations", "crash", "crashes in feed (SIGABRT)"},
        Behaviour{"hangs_at_nul", "mutations", "hang", "does not come back in feed"},
        Behaviour{"minds_feeds_at_nul", "mutations", "mutations.cuts", "fed in pieces of"},
        Behaviour{"forgets_lines_with_nul", "mutations", "mutations.resume",
                  "saved and resumed at"},
        Behaviour{"trusts_its_options", "values", "crash", "crashes in create"},
        Behaviour{"breach_at_nul", "mutations", "record.size", "a null pointer"}),
    name_of);

INSTANTIATE_TEST_SUITE_P(
    Promises, Caught,
    testing::Values(
        Behaviour{"takes_any_limits", "options", "options.least", "max_record_bytes below 64"},
        Behaviour{"refuses", "options", "options.refused", "take the defaults, or the options"},
        Behaviour{"reserves_all", "options", "options.limits", "take more than 1 GiB for 1 GiB"},
        Behaviour{"knows_one_size", "options", "options.newer-host", "what size?"},
        Behaviour{"ends_lines_with_feeds", "cuts", "cuts.records", "cut at"},
        Behaviour{"minds_empty_feeds", "cuts", "cuts.records", "fed byte by byte"},
        Behaviour{"late", "cuts", "cuts.late", "as soon as the end of a record is certain"},
        Behaviour{"consumed_of_feeds", "cuts", "cuts.consumed", "after one feed"},
        Behaviour{"state_of_feeds", "cuts", "cuts.state", "not of how the bytes came"},
        Behaviour{"state_of_saves", "cuts", "save.twice", "another state at the second call"},
        Behaviour{"save_ends_the_line", "cuts", "cuts.save", "changes nothing"},
        Behaviour{"forgets_lines", "records", "line.wrong", "begins on line 1"},
        Behaviour{"saves_nothing", "resume", "resume.records", "is on line 1 and not 2"},
        Behaviour{"refuses_its_state", "resume", "resume.refused", "refuses its own state"},
        Behaviour{"counts_documents", "repeat", "repeat.records", "has \"text\" = "},
        Behaviour{"unwritten_memory", "repeat", "repeat.records", "nothing is read before"},
        Behaviour{"environment", "repeat", "repeat.records", "in another folder, zone and locale"},
        Behaviour{"counts_on_threads", "repeat", "repeat.threads", "nothing of a thread's own"},
        Behaviour{"minds_others", "repeat", "repeat.side-by-side", "read on two threads at once"},
        Behaviour{"one_line_for_all", "repeat", "repeat.in-turns", "no globals"},
        Behaviour{"ignores_stop", "stop", "status.after-stop",
                  "returns 0 after the host said stop"},
        Behaviour{"fails_at_stop", "stop", "status.after-stop",
                  "returns 2 after the host said stop"},
        Behaviour{"goes_on_after_stop", "stop", "call.after-stop", "call the host no more"},
        Behaviour{"ignores_limits", "limits", "record.too-long", "max_record_bytes is 64"},
        Behaviour{"long_asides", "limits", "aside.too-long", "in pieces of max_record_bytes"},
        Behaviour{"pieces_of_feeds", "limits", "limits.cuts", "fed byte by byte"},
        Behaviour{"forgets_long_lines", "limits", "limits.resume", "saved and resumed at"},
        Behaviour{"limit_off_by_one", "limits", "limits.exact", "only what is longer is set aside"},
        Behaviour{"holds_back", "bounds", "consumed.held", "max_record_bytes is 4096"},
        Behaviour{"hoards", "bounds", "bounds.memory", "MiB of a record that never ends"},
        Behaviour{"trusts_its_state", "states", "crash", "crashes in create"},
        Behaviour{"leaks", "leaks", "leaks.memory", "bytes behind, each time"},
        Behaviour{"quadratic", "cost", "cost.time", "proportional to the bytes"}),
    name_of);

TEST(Vet, GoesOnAfterACrashAndTellsTheRest) {
  const Report report = vet_wayward("crashes", {});
  EXPECT_THAT(rules(report), Contains(kSanitized ? "exit" : "crash"));
  for (const Check& check : report.checks) {
    if (check.name == "cuts") {
      EXPECT_EQ(check.why_left_out, "no sample can be read to its end");
    }
    if (check.name == "options") {
      EXPECT_EQ(check.result, Check::Result::kOk) << told(report);
    }
  }
}

TEST(Vet, TellsABreachOnceAndCountsIt) {
  const Report report = vet_wayward("value_not_utf8", {"records", "cuts", "resume"});
  EXPECT_THAT(rules(report), testing::ElementsAre("text.utf8"));
  for (const Check& check : report.checks)
    for (const Fault& fault : check.faults) EXPECT_EQ(fault.times, 6u);
}

TEST(Vet, TellsNoConsequenceOfAFault) {
  const Report report = vet_wayward("saves_nothing", {"resume", "limits", "mutations"});
  EXPECT_THAT(rules(report), testing::ElementsAre("resume.records")) << told(report);
  EXPECT_THAT(rules(vet_wayward("saves_nothing", {"limits"})), Contains("limits.resume"));
}

TEST(Vet, KeepsTheChangedSampleThatShowsAFault) {
  const Samples samples(kSample), kept("");
  const Effort effort{.time = std::chrono::milliseconds(1500),
                      .call = std::chrono::milliseconds(500),
                      .only = {"mutations"},
                      .keep = kept.folder()};
  const auto report = vet({GIRDLE_VET_READERS "/wayward.reader.yaml",
                           {samples.folder()},
                           {{"behaviour", "crashes_at_nul"}}},
                          effort, [](const Check&) {});
  ASSERT_TRUE(report);
  std::string input;
  for (const Check& check : report->checks)
    for (const Fault& fault : check.faults) input = fault.input;
  std::ifstream file(input, std::ios::binary);
  const std::string bytes((std::istreambuf_iterator<char>(file)), std::istreambuf_iterator<char>());
  EXPECT_THAT(bytes, HasSubstr(std::string(1, '\0')));
}

struct Library {
  const char *manifest, *check, *rule, *words;
};

void PrintTo(const Library& library, std::ostream* out) { *out << library.manifest; }

class Unfit : public testing::TestWithParam<Library> {};

TEST_P(Unfit, LibraryOrManifestIsTold) {
  const Report report = vet_reader(GetParam().manifest, {}, {}, 100);
  EXPECT_EQ(report.verdict(), Report::Verdict::kRefused);
  EXPECT_THAT(told(report),
              HasSubstr(std::string(GetParam().check) + ' ' + GetParam().rule + " ("));
  EXPECT_THAT(told(report), HasSubstr(GetParam().words));
}

#define OURS GIRDLE_VET_READERS "/"
#define MISDESCRIBED(misdeed) GIRDLE_VET_MISDESCRIBED "/" misdeed "/misdescribed.reader.yaml"
#define OTHERS GIRDLE_TEST_READERS "/"  // those of tests/reading
INSTANTIATE_TEST_SUITE_P(
    Libraries, Unfit,
    testing::Values(
        Library{OTHERS "absent.reader.yaml", "manifest", "manifest.library",
                "absent.so is not beside"},
        Library{OTHERS "other-abi.reader.yaml", "manifest", "manifest.abi", "abi: 1"},
        Library{OTHERS "text.reader.yaml", "library", "library.file", "no shared library"},
        Library{OTHERS "half-library.reader.yaml", "library", "library.functions",
                "does not export girdle_reader_descriptor_at"},
        Library{OTHERS "newer.reader.yaml", "negotiation", "negotiation.ours",
                "does not take version 1"},
        Library{OTHERS "unpromised.reader.yaml", "descriptor", "descriptor.missing",
                "has no reader unpromised; it has odd and half"},
        Library{OTHERS "half.reader.yaml", "descriptor", "descriptor.function",
                "leaves out its function finish"},
        Library{OURS "crashing.reader.yaml", "library", "crash", "crashes in loading (SIGABRT)"},
        Library{MISDESCRIBED("Short"), "descriptor", "descriptor.size", "says that its size is 8"},
        Library{MISDESCRIBED("Nameless"), "descriptor", "descriptor.name", "no name or no version"},
        Library{MISDESCRIBED("Twins"), "descriptor", "descriptor.twice",
                "two readers misdescribed"},
        Library{MISDESCRIBED("Unlinked"), "library", "library.load",
                "girdle_test_function_that_is_nowhere"},
        Library{MISDESCRIBED("OddAnswer"), "negotiation", "negotiation.status", "answers 77"},
        Library{OURS "liar.reader.yaml", "library", "library.exports", "liar_says_more"},
        Library{OURS "liar.reader.yaml", "negotiation", "negotiation.chosen", "chooses version 1"},
        Library{OURS "liar.reader.yaml", "negotiation", "negotiation.touched", "untouched"},
        Library{OURS "liar.reader.yaml", "descriptor", "descriptor.moves", "the same pointer"},
        Library{OURS "liar.reader.yaml", "descriptor", "descriptor.endless", "NULL past the last"},
        Library{OURS "liar.reader.yaml", "descriptor", "descriptor.extension", "NULL for an id"},
        Library{OURS "liar.reader.yaml", "descriptor", "descriptor.reserved", "set it to 0"},
        Library{OURS "liar.reader.yaml", "descriptor", "descriptor.version",
                "is version \"0.2.0\", the manifest says \"0.1.0\""}));

struct Text {
  const char *changes, *into, *rule, *words;
};

// Of a manifest that is all right, and has no library beside it.
const std::string kManifest =
    "name: wayward\nversion: 0.1.0\nabi: 1\nlibrary: wayward.so\nsummary: For tests\noptions:\n"
    "  - { name: kind, type: choice, choices: [a, b], summary: Which }\n";

TEST(Vet, TellsWhatIsWrongWithAManifest) {
  for (const Text& text : {
           Text{"abi:", "abi2:", "manifest.unreadable", "it has no abi"},
           Text{"name: wayward", "name: Way", "manifest.name", "the name \"Way\" will not do"},
           Text{"name: wayward", "name: way", "manifest.file", "way.reader.yaml"},
           Text{"summary: For", "sumary: For", "manifest.key", "did you mean summary?"},
           Text{", summary: Which", ", is: it", "manifest.key", "option kind: there is no key"},
           Text{", summary: Which", "", "manifest.summary", "option kind: there is no summary"},
           Text{"summary: For tests", "sparse: true", "manifest.summary", "for lists of readers"},
           Text{"type: choice", "type: text", "manifest.choices", "is of another type"},
           Text{"choices: [a, b], ", "", "manifest.choices", "a choice among nothing"},
       }) {
    const Samples samples("x");
    std::string manifest = kManifest;
    ASSERT_NE(manifest.find(text.changes), std::string::npos) << text.changes;
    manifest.replace(manifest.find(text.changes), std::strlen(text.changes), text.into);
    samples.put("wayward.reader.yaml", manifest);
    const Report report = vet_reader((samples.folder() / "wayward.reader.yaml").string(), {}, {});
    EXPECT_THAT(rules(report), Contains(text.rule)) << told(report);
    EXPECT_THAT(told(report), HasSubstr(text.words));
  }
}

TEST(Vet, TellsWhatIsNotAsTheSamplesExpectationSays) {
  const std::string record = R"({"text": "one"})",
                    aside = R"({"offset": 4, "length": 4, "line": 2,)";
  const struct {
    std::string records, asides, rule, words;
  } kExpectations[] = {
      {record, aside + R"("reason": "begins with !"})", "", ""},
      {R"({"text": "two"})", aside + R"("reason": "!"})", "expected.record",
       "record 1 is text=one; right: after its expected.json: text=two"},
      {record + "," + record, aside + R"("reason": "!"})", "expected.records",
       "gives 1 record; right: after its expected.json: 2 records"},
      {record, aside + R"("reason": "too long"})", "expected.aside",
       "sets aside 4 bytes at 4, line 2: it begins with !"},
      {record, "", "expected.asides", "gives 1 aside; right: after its expected.json: 0 asides"},
  };
  for (const auto& expectation : kExpectations) {
    const Samples samples("one\n!two\n");
    samples.put("001-lines.expected.json", R"({"records": [)" + expectation.records +
                                               R"(], "asides": [)" + expectation.asides + "]}");
    const Effort effort{.only = {"records"}, .keep = {}};
    const auto report = vet({GIRDLE_VET_READERS "/wayward.reader.yaml", {samples.folder()}, {}},
                            effort, [](const Check&) {});
    ASSERT_TRUE(report);
    if (expectation.rule.empty()) {
      EXPECT_EQ(report->faults(), 0u) << told(*report);
    } else {
      EXPECT_THAT(rules(*report), testing::ElementsAre(expectation.rule)) << told(*report);
      EXPECT_THAT(told(*report), HasSubstr(expectation.words));
    }
  }
}

TEST(Vet, CountsTheSamplesThatThereWasNoTimeFor) {
  const Samples samples(kSample);
  for (int i = 10; i < 60; ++i) samples.put(std::to_string(i) + ".txt", kSample);
  const Effort effort{
      .time = std::chrono::milliseconds(30), .only = {"records", "cuts"}, .keep = {}};
  const auto report = vet({GIRDLE_VET_READERS "/wayward.reader.yaml", {samples.folder()}, {}},
                          effort, [](const Check&) {});
  ASSERT_TRUE(report);
  for (const Check& check : report->checks) {
    if (check.name == "records") {
      EXPECT_EQ(check.samples_tried, 51u);  // what they hold is looked at in any case
    }
    if (check.name == "cuts") {
      EXPECT_EQ(check.samples, 51u);
      EXPECT_GE(check.samples_tried, 1u);
      EXPECT_LT(check.samples_tried, 51u);
    }
  }
  EXPECT_EQ(report->cut_short(), 1u);
}

TEST(Vet, MeasuresTimeAndMemoryForAMebibyte) {
  const Report report = vet_wayward("good", {"cost"}, 5000);
  EXPECT_GT(report.checks.back().measured("time for a MiB"), 0);
  const Report hoarding = vet_wayward("hoards", {"cost"}, 5000);
  if (!kSanitized) {
    EXPECT_GE(hoarding.checks.back().measured("memory"), 2 << 20);
  }
}

// The readers of tests/reading, which were written to be misread by girdled.
TEST(Vet, CatchesWhatTheHostOfGirdledCatches) {
  for (const char* behaviour : {"null_names",
                                "null_values",
                                "lost_name",
                                "lost_value",
                                "endless_value",
                                "small_record",
                                "beyond",
                                "long_record",
                                "wraps",
                                "empty_record",
                                "backwards",
                                "other_layout",
                                "null_record",
                                "too_many_fields",
                                "asides",
                                "aside_without_reason",
                                "small_aside",
                                "lost_reason",
                                "flood",
                                "goes_on",
                                "emits_in_create",
                                "refuses",
                                "refuses_in_silence",
                                "gives_up",
                                "odd_status",
                                "unfinished",
                                "holds_back",
                                "done_too_early",
                                "goes_back",
                                "cannot_save",
                                "lost_state",
                                "ignores_stop"}) {
    const Report report =
        vet_reader(OTHERS "odd.reader.yaml", {{"behaviour", behaviour}}, {"records", "stop"}, 300);
    EXPECT_EQ(report.verdict(), Report::Verdict::kRefused) << behaviour;
  }
}

}  // namespace
}  // namespace girdle::vet
