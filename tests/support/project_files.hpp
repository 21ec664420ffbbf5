#pragma once
// Published project instances: the formats of PSPLIB (.sm), ProGen/max (.sch) and the job shop collections (.jss), and
// the folder of benchmark data that may lie beside the repository.

#include <map>
#include <optional>
#include <string>
#include <vector>

#include "common/plan/project.hpp"

namespace nappe::tests {

/// R. Kolisch, A. Sprecher, "PSPLIB", EJOR 96 (1996): single mode, renewable resources.
plan::Project read_sm(const std::string& text);
/// ProGen/max (C. Schwindt): "n resources 0 0", then activities with start-to-start lags in brackets, then durations
/// and demands, then capacities.
plan::Project read_sch(const std::string& text);
/// First line "jobs machines", then machine and duration pairs, one line a job; # starts a comment.
plan::Project read_jss(const std::string& text);
/// The same from pairs already in hand.
plan::Project job_shop(int machines, const std::vector<std::vector<std::pair<int, int>>>& jobs);

/// The benchmark folder beside the repository, or nothing.
std::optional<std::string> benchmark_folder(const std::string& name);
std::string read_text(const std::string& path);
/// "file,value" lines after a heading; the value as text.
std::map<std::string, std::string> read_best(const std::string& path);

}  // namespace nappe::tests
