// Runs a fuzz target over the files of a folder, so that every build replays what fuzzing found.
//
// Takes:  folders or files.
// Each:   input is run whole, then cut at a few dozen places, as a reader meets cut messages.
// Exit:   1 when there was not one input, so that a moved corpus is noticed.
#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size);

namespace {

namespace fs = std::filesystem;

constexpr std::size_t kCuts = 48;

std::vector<fs::path> inputs(int count, char** arguments) {
  std::vector<fs::path> paths;
  for (int i = 1; i < count; ++i) {
    if (!fs::is_directory(arguments[i])) {
      paths.emplace_back(arguments[i]);
      continue;
    }
    for (const fs::directory_entry& entry : fs::directory_iterator(arguments[i])) {
      if (entry.is_regular_file()) paths.push_back(entry.path());
    }
  }
  std::sort(paths.begin(), paths.end());
  return paths;
}

void run(const std::string& text) {
  const std::vector<std::uint8_t> bytes(text.begin(), text.end());  // exact size, for the sanitizer
  LLVMFuzzerTestOneInput(bytes.data(), bytes.size());
}

void replay(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  const std::string text{std::istreambuf_iterator<char>(file), std::istreambuf_iterator<char>()};
  run(text);
  const std::size_t step = std::max<std::size_t>(1, text.size() / kCuts);
  for (std::size_t cut = 0; cut < text.size(); cut += step) {
    run(text.substr(0, cut));
  }
}

}  // namespace

int main(int count, char** arguments) {
  const std::vector<fs::path> paths = inputs(count, arguments);
  for (const fs::path& path : paths) {
    std::printf("%s\n", path.filename().string().c_str());
    std::fflush(stdout);
    replay(path);
  }
  return paths.empty() ? 1 : 0;
}
