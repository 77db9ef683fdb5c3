// Runs a corpus and numbered mutations of it through a target, the same ones every time; needs no special compiler.
//
// usage: TARGET MUTATIONS FOLDER...; TARGET -only N FOLDER... shows mutation N and runs it alone
#include <algorithm>
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <vector>

#include "fuzz/target.h"

namespace {

namespace fs = std::filesystem;

/// splitmix64 (Steele, Lea, Flood 2014): small, and good enough to spread mutations.
class Draws {
 public:
  explicit Draws(std::uint64_t seed) : state_(seed) {}
  std::uint64_t next() {
    std::uint64_t z = (state_ += 0x9e3779b97f4a7c15ULL);
    z = (z ^ (z >> 30)) * 0xbf58476d1ce4e5b9ULL;
    z = (z ^ (z >> 27)) * 0x94d049bb133111ebULL;
    return z ^ (z >> 31);
  }
  std::size_t below(std::size_t n) { return n == 0 ? 0 : static_cast<std::size_t>(next() % n); }

 private:
  std::uint64_t state_;
};

/// Bits of text that readers trip over.
constexpr const char* kPieces[] = {"\n",         "\r",
                                   "\r\n",       "\"",
                                   "'",          ",",
                                   ";",          "\t",
                                   "=",          "[",
                                   "]",          "[[",
                                   "]]",         "{",
                                   "}",          ".",
                                   "#",          "\\",
                                   "-1",         "0",
                                   "1e9",        "1e308",
                                   "nan",        "inf",
                                   "-0",         "99999999999999999999",
                                   "null",       "true",
                                   "\"\"",       "\xff",
                                   "\xc3\xa9",   "\xef\xbb\xbf",
                                   "1979-05-27", "0x1f",
                                   "\\u0000",    "\"\"\"",
                                   "time_s",     "load "};

std::string mutated(const std::vector<std::string>& corpus, std::uint64_t number) {
  Draws draws(number);
  std::string out = corpus[draws.below(corpus.size())];
  for (std::size_t changes = 1 + draws.below(4); changes > 0; --changes) {
    const std::size_t at = draws.below(out.size() + 1);
    const std::size_t length = std::min(draws.below(40), out.size() - at);
    switch (draws.below(7)) {
      case 0:
        out.erase(at, length);
        break;
      case 1:
        out.insert(at, kPieces[draws.below(std::size(kPieces))]);
        break;
      case 2:
        if (at < out.size()) out[at] = static_cast<char>(out[at] ^ (1U << draws.below(8)));
        break;
      case 3:
        out.insert(draws.below(out.size() + 1), out.substr(at, length));
        break;
      case 4: {
        const std::string& other = corpus[draws.below(corpus.size())];
        out.insert(at, other, draws.below(other.size() + 1), draws.below(200));
        break;
      }
      case 5:
        out.resize(at);
        break;
      default:
        out.replace(at, length, kPieces[draws.below(std::size(kPieces))]);
    }
  }
  return out;
}

std::vector<std::string> read_corpus(char** folders, int count) {
  std::vector<fs::path> files;
  for (int i = 0; i < count; ++i)
    for (const auto& entry : fs::recursive_directory_iterator(folders[i]))
      if (entry.is_regular_file()) files.push_back(entry.path());
  std::sort(files.begin(), files.end());
  std::vector<std::string> out;
  for (const fs::path& file : files) {
    std::ifstream in(file, std::ios::binary);
    out.emplace_back(std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>());
  }
  return out;
}

}  // namespace

int main(int argc, char** argv) {
  const bool only = argc > 3 && std::string(argv[1]) == "-only";
  const int folders_from = only ? 3 : 2;
  const std::uint64_t number = argc > 2 ? std::strtoull(argv[only ? 2 : 1], nullptr, 10) : 0;
  const auto corpus =
      argc > folders_from ? read_corpus(argv + folders_from, argc - folders_from) : std::vector<std::string>();
  if (corpus.empty()) {
    std::fprintf(stderr, "usage: %s MUTATIONS FOLDER... | -only N FOLDER...\n", argv[0]);
    return 2;
  }
  if (only) {
    const std::string input = mutated(corpus, number);
    std::fwrite(input.data(), 1, input.size(), stdout);
    std::fflush(stdout);
    fuzz_one(input);
    return 0;
  }
  for (const std::string& input : corpus) fuzz_one(input);
  for (std::uint64_t n = 0; n < number; ++n) {
    if (n % 100 == 0) std::fprintf(stderr, "from mutation %llu\n", static_cast<unsigned long long>(n));
    fuzz_one(mutated(corpus, n));
  }
  std::printf("%zu files and %llu mutations\n", corpus.size(), static_cast<unsigned long long>(number));
}
