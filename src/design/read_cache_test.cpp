// Covers design/read_cache: files are read once as long as they do not change, and again as soon as they do; what the
// caller is told is the same as without it.
#include "design/read_cache.h"

#include <gtest/gtest.h>
#include <unistd.h>

#include <chrono>
#include <filesystem>
#include <fstream>

#include "stock/catalogue.h"

namespace {

namespace fs = std::filesystem;

/// A catalogue and a list of its own, last changed an hour ago.
class ReadCache : public ::testing::Test {
 protected:
  void SetUp() override {
    root_ = fs::temp_directory_path() / ("kw_read_cache_" + std::to_string(::getpid()));
    fs::remove_all(root_);
    fs::create_directories(root_);
    fs::copy(fs::path(KW_SOURCE_DIR) / "catalogue", root_ / "catalogue", fs::copy_options::recursive);
    fs::copy_file(fs::path(KW_SOURCE_DIR) / "examples/tow_tractor/stock.csv", root_ / "stock.csv");
    for (const auto& entry : fs::recursive_directory_iterator(root_)) age(entry.path());
  }
  void TearDown() override { fs::remove_all(root_); }

  static void age(const fs::path& file) {
    fs::last_write_time(file, fs::file_time_type::clock::now() - std::chrono::hours(1));
  }
  static void append(const fs::path& file, const std::string& text) { std::ofstream(file, std::ios::app) << text; }

  std::shared_ptr<const stock::Catalogue> catalogue() {
    told_ = {};
    return cache_.catalogue("metric8", (root_ / "catalogue").string(), told_);
  }
  std::shared_ptr<const stock::ImportResult> list(const std::shared_ptr<const stock::Catalogue>& of,
                                                  const stock::ColumnChoice& columns = {}) {
    told_ = {};
    return cache_.list((root_ / "stock.csv").string(), of, columns, told_);
  }

  fs::path root_;
  design::ReadCache cache_;
  document::Diagnostics told_;
};

TEST_F(ReadCache, FilesThatDoNotChangeAreReadOnce) {
  const auto first = catalogue();
  ASSERT_NE(first, nullptr);
  const auto list_of_first = list(first);
  document::Diagnostics direct;
  const auto by_itself = stock::load_kit_system("metric8", (root_ / "catalogue").string(), direct);
  ASSERT_TRUE(by_itself);
  EXPECT_EQ(first->classes.size(), by_itself->classes.size());
  EXPECT_EQ(list_of_first->stock.types.size(),
            stock::import_stock_file((root_ / "stock.csv").string(), *by_itself, {}, direct).stock.types.size());
  EXPECT_EQ(cache_.reads(), 2);
  EXPECT_EQ(catalogue(), first);
  EXPECT_EQ(list(first), list_of_first);
  EXPECT_EQ(cache_.reads(), 2);
  // Other columns are another list.
  stock::ColumnChoice columns;
  columns.of[0] = "1";
  (void)list(first, columns);
  EXPECT_EQ(cache_.reads(), 3);
}

TEST_F(ReadCache, AChangedFileIsReadAgain) {
  const auto first = catalogue();
  const auto before = list(first);
  const int pieces = before->stock.types.empty() ? 0 : before->stock.types.front().count;
  append(root_ / "stock.csv", "# nothing\n");
  EXPECT_NE(list(first), before);
  const std::string state = design::catalogue_state("metric8", (root_ / "catalogue").string());
  const fs::path parts = *fs::directory_iterator(root_ / "catalogue/metric8/parts");
  append(parts, "\n# another figure\n");
  EXPECT_NE(design::catalogue_state("metric8", (root_ / "catalogue").string()), state);
  const auto second = catalogue();
  ASSERT_NE(second, nullptr);
  EXPECT_NE(second, first);
  // Its last change was a moment ago: the next one may have the same time.
  const int reads = cache_.reads();
  EXPECT_NE(catalogue(), second);
  EXPECT_EQ(cache_.reads(), reads + 1);
  age(parts);
  const auto settled = catalogue();
  EXPECT_EQ(catalogue(), settled);
  EXPECT_GT(pieces, 0);
}

TEST_F(ReadCache, ProblemsAreToldEveryTime) {
  append(root_ / "stock.csv", "no such thing as this part in any kit,3,,\n");
  age(root_ / "stock.csv");
  const auto c = catalogue();
  (void)list(c);
  const auto told = told_.sorted();
  (void)list(c);
  ASSERT_EQ(told_.sorted().size(), told.size());
  const fs::path parts = *fs::directory_iterator(root_ / "catalogue/metric8/parts");
  append(parts, "this is no TOML\n");
  age(parts);
  for (int i = 0; i < 2; ++i) {
    EXPECT_EQ(catalogue(), nullptr);
    EXPECT_TRUE(told_.has_errors());
  }
  told_ = {};
  EXPECT_EQ(cache_.catalogue("metric8", (root_ / "nowhere").string(), told_), nullptr);
  EXPECT_TRUE(told_.has_errors());
}

}  // namespace
