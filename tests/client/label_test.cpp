// Labels, and what a reader of QR codes makes of them.
#include "client/label.hpp"

#include <catch2/catch.hpp>
#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <sstream>

using namespace nappe;
using namespace nappe::client;

namespace {

Label swede() {
  Label label;
  label.id = "swede_puree-1120-b";
  label.name = "swede puree";
  label.by = "Tom";
  label.made = *from_rfc3339("2026-11-20T11:05:00Z");
  label.use_by = *from_rfc3339("2026-11-24T00:00:00Z");
  label.ends = "house: 3 days";
  label.allergens = {"milk"};
  return label;
}

// Netpbm's plain bitmap, eight dots a module.
void write_pbm(const std::filesystem::path& path, const std::vector<std::vector<bool>>& modules) {
  constexpr std::size_t dots = 8;
  constexpr std::size_t quiet = 4;
  const std::size_t width = (modules.size() + 2 * quiet) * dots;
  std::ofstream out(path);
  out << "P1\n" << width << ' ' << width << '\n';
  for (std::size_t y = 0; y < width; ++y) {
    for (std::size_t x = 0; x < width; ++x) {
      const std::size_t row = y / dots;
      const std::size_t column = x / dots;
      const bool inside =
          row >= quiet && column >= quiet && row < modules.size() + quiet && column < modules.size() + quiet;
      out << (inside && modules[row - quiet][column - quiet] ? '1' : '0') << (x % 64 == 63 ? '\n' : ' ');
    }
    out << '\n';
  }
}

}  // namespace

TEST_CASE("a label says what, who, when made, use by, batch and allergens") {
  const auto text = label_text(swede());
  REQUIRE(text);
  for (const char* const part : {"SWEDE PUREE\n", "swede_puree-1120-b\n", "made    2026-11-20 11:05  Tom",
                                 "USE BY  2026-11-24 00:00  (house: 3 days)", "HOLDS   MILK"})
    CHECK(text->find(part) != std::string::npos);
}

TEST_CASE("zbar, a reader that shares no code with us, reads the batch's name back from the code") {
  if (std::system("command -v zbarimg > /dev/null 2>&1") != 0) {
    WARN("zbarimg is not installed: the code was not read back");
    return;
  }
  const auto modules = qr_modules(swede().id);
  REQUIRE(modules);
  const auto folder = std::filesystem::path(NAPPE_BINARY_DIR) / "label_test";
  std::filesystem::create_directories(folder);
  write_pbm(folder / "code.pbm", *modules);
  const std::string read = "zbarimg --quiet --raw '" + (folder / "code.pbm").string() + "' > '" +
                           (folder / "read.txt").string() + "' 2> /dev/null";
  REQUIRE(std::system(read.c_str()) == 0);
  std::ifstream in(folder / "read.txt");
  std::string said;
  std::getline(in, said);
  CHECK(said == swede().id);
}
