#include "tests/support/project_files.hpp"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <sstream>
#include <stdexcept>

namespace nappe::tests {
namespace {

std::size_t at(int index) { return static_cast<std::size_t>(index); }

std::vector<std::string> lines_of(const std::string& text) {
  std::vector<std::string> lines;
  std::istringstream in(text);
  for (std::string line; std::getline(in, line);) lines.push_back(line);
  return lines;
}

/// All whole numbers of a line, brackets and other marks skipped.
std::vector<int> numbers_of(const std::string& line) {
  std::string clean = line;
  for (char& c : clean) {
    if (c == '[' || c == ']' || c == '\t' || c == '\r') c = ' ';
  }
  std::vector<int> numbers;
  std::istringstream in(clean);
  for (int n = 0; in >> n;) numbers.push_back(n);
  return numbers;
}

}  // namespace

plan::Project read_sm(const std::string& text) {
  plan::Project project;
  const auto lines = lines_of(text);
  const auto section = [&](const std::string& title) {
    const auto found =
        std::find_if(lines.begin(), lines.end(), [&](const std::string& line) { return line.rfind(title, 0) == 0; });
    if (found == lines.end()) throw std::runtime_error("no section " + title);
    return found;
  };
  std::vector<std::vector<int>> followers;
  for (auto line = section("PRECEDENCE") + 2; line->find("***") == std::string::npos; ++line) {
    const auto n = numbers_of(*line);
    followers.emplace_back(n.begin() + 3, n.end());
  }
  for (auto line = section("REQUESTS") + 3; line->find("***") == std::string::npos; ++line) {
    const auto n = numbers_of(*line);
    project.activities.push_back({n.at(2), {n.begin() + 3, n.end()}});
  }
  project.capacity = numbers_of(*(section("RESOURCEAVAIL") + 2));
  for (std::size_t a = 0; a < followers.size(); ++a) {
    for (int next : followers[a]) plan::add_precedence(project, static_cast<int>(a), next - 1);
  }
  return project;
}

plan::Project read_sch(const std::string& text) {
  plan::Project project;
  const auto lines = lines_of(text);
  const auto head = numbers_of(lines.at(0));
  const int count = head.at(0) + 2;
  const auto resources = at(head.at(1));
  for (int a = 0; a < count; ++a) {
    const auto n = numbers_of(lines.at(at(1 + a)));
    const int followers = n.at(2);
    for (int i = 0; i < followers; ++i) {
      project.lags.push_back({a, n.at(at(3 + i)), n.at(at(3 + followers + i))});
    }
  }
  for (int a = 0; a < count; ++a) {
    const auto n = numbers_of(lines.at(at(1 + count + a)));
    project.activities.push_back({n.at(2), {n.begin() + 3, n.begin() + 3 + static_cast<std::ptrdiff_t>(resources)}});
  }
  project.capacity = numbers_of(lines.at(at(1 + 2 * count)));
  return project;
}

plan::Project job_shop(int machines, const std::vector<std::vector<std::pair<int, int>>>& jobs) {
  plan::Project project;
  project.capacity.assign(at(machines), 1);
  for (const auto& job : jobs) {
    for (std::size_t i = 0; i < job.size(); ++i) {
      plan::Activity activity{job[i].second, std::vector<int>(at(machines), 0)};
      activity.demand[at(job[i].first)] = 1;
      project.activities.push_back(activity);
      const int index = static_cast<int>(project.activities.size()) - 1;
      if (i > 0) plan::add_precedence(project, index - 1, index);
    }
  }
  return project;
}

plan::Project read_jss(const std::string& text) {
  std::vector<std::vector<int>> rows;
  for (const auto& line : lines_of(text)) {
    if (line.empty() || line[0] == '#') continue;
    rows.push_back(numbers_of(line));
  }
  std::vector<std::vector<std::pair<int, int>>> jobs;
  for (int j = 0; j < rows.at(0).at(0); ++j) {
    const auto& row = rows.at(at(j + 1));
    jobs.emplace_back();
    for (std::size_t i = 0; i + 1 < row.size(); i += 2) jobs.back().emplace_back(row[i], row[i + 1]);
  }
  return job_shop(rows[0].at(1), jobs);
}

std::optional<std::string> benchmark_folder(const std::string& name) {
  const std::string path = std::string(NAPPE_SOURCE_DIR) + "/../shared/data/" + name;
  if (!std::filesystem::is_directory(path)) return std::nullopt;
  return path;
}

std::string read_text(const std::string& path) {
  std::ifstream in(path);
  if (!in) throw std::runtime_error("cannot read " + path);
  std::stringstream text;
  text << in.rdbuf();
  return text.str();
}

std::map<std::string, std::string> read_best(const std::string& path) {
  std::map<std::string, std::string> best;
  bool heading = true;
  for (const auto& line : lines_of(read_text(path))) {
    const std::size_t comma = line.find(',');
    if (!heading && comma != std::string::npos) best[line.substr(0, comma)] = line.substr(comma + 1);
    heading = false;
  }
  return best;
}

}  // namespace nappe::tests
