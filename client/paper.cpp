#include "client/paper.hpp"

#include <fmt/format.h>

#include <cstdio>
#include <filesystem>
#include <fstream>
#include <sstream>

#include "client/http.hpp"

namespace nappe::client {

int run_paper(const Address& server, const PaperOptions& options) {
  const auto answer = http_ask(server, "GET", "/paper?size=" + options.size, {}, {}, std::chrono::seconds(4));
  if (answer && answer->status == 200) {
    fmt::print("{}", answer->body);
    return 0;
  }
  const std::string why = answer ? problem_sentence(*answer) : answer.error().detail;
  if (options.folder.empty()) {
    fmt::print(stderr, "{}; name the folder where napped wrote its paper: nappe paper --from DIR\n", why);
    return 1;
  }
  const auto file = std::filesystem::path(options.folder) / ("paper-" + options.size + ".txt");
  std::ifstream in(file, std::ios::binary);
  std::ostringstream whole;
  whole << in.rdbuf();
  if (whole.str().empty()) {
    fmt::print(stderr, "{}; and there is no paper in {}\n", why, file.string());
    return 1;
  }
  fmt::print(stderr, "{}; this is the last paper it wrote\n", why);
  fmt::print("{}", whole.str());
  return 0;
}

}  // namespace nappe::client
