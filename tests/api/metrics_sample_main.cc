// Prints the sample's /metrics, for readers that are not ours.
#include <cstdio>
#include <filesystem>

#include "api/metrics_sample.h"

int main(int argc, char** argv) {
  if (argc != 2) {
    std::fprintf(stderr, "usage: girdle_api_metrics_sample FOLDER (empty)\n");
    return 2;
  }
  const girdle::api::MetricsSample sample(argv[1]);
  const std::string text = sample.text();
  std::fwrite(text.data(), 1, text.size(), stdout);
  return 0;
}
