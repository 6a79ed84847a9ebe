// Runs a fuzz target where libFuzzer is not there (any compiler, any sanitizer): first every file of the corpus
// folders given as arguments, then a second of mutations of them. The random numbers start from a fixed seed, so a
// failure repeats.
#include <chrono>
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <random>
#include <string>
#include <vector>

extern "C" int LLVMFuzzerTestOneInput(const uint8_t* data, size_t size);

namespace {

void run(const std::string& input) {
  LLVMFuzzerTestOneInput(reinterpret_cast<const uint8_t*>(input.data()), input.size());
}

void mutate(std::string& input, const std::vector<std::string>& corpus, std::mt19937_64& random) {
  const auto at = [&](size_t size) { return size == 0 ? 0 : random() % size; };
  switch (random() % 6) {
    case 0:
      if (!input.empty()) input[at(input.size())] = static_cast<char>(random());
      break;
    case 1:
      input.insert(at(input.size()), 1, static_cast<char>(random()));
      break;
    case 2:
      if (!input.empty()) input.erase(at(input.size()), 1 + random() % 8);
      break;
    case 3: {
      const std::string& other = corpus[at(corpus.size())];
      const size_t from = at(other.size());
      input.insert(at(input.size()), other, from, random() % 64);
      break;
    }
    case 4:
      input.resize(at(input.size() + 1));
      break;
    case 5: {
      static constexpr char kMarks[] = "\"',;\r\n\t{}[]:\\\0-.+()<>=";
      input.insert(at(input.size()), 1, kMarks[random() % (sizeof kMarks - 1)]);
      break;
    }
  }
}

}  // namespace

int main(int argc, char** argv) {
  std::vector<std::string> corpus;
  for (int i = 1; i < argc; ++i) {
    for (const auto& entry : std::filesystem::recursive_directory_iterator(argv[i])) {
      if (!entry.is_regular_file() || entry.file_size() > (1u << 20)) continue;
      std::ifstream file(entry.path(), std::ios::binary);
      corpus.emplace_back(std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>());
    }
  }
  if (corpus.empty()) {
    std::fprintf(stderr, "no corpus: name a folder that holds at least one file\n");
    return 2;
  }
  for (const std::string& input : corpus) run(input);

  std::mt19937_64 random(20240101);
  uint64_t runs = corpus.size();
  const auto end = std::chrono::steady_clock::now() + std::chrono::seconds(1);
  while (std::chrono::steady_clock::now() < end) {
    std::string input = corpus[random() % corpus.size()];
    for (uint64_t n = 1 + random() % 4; n > 0; --n) mutate(input, corpus, random);
    run(input);
    ++runs;
  }
  std::printf("%llu inputs\n", static_cast<unsigned long long>(runs));
  return 0;
}
