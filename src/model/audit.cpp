#include "subcrop/model/audit.hpp"

#include "audit_parts.hpp"

namespace subcrop::model {

void audit(const Survey& survey, const Reduced& reduced, unsigned threads, ProblemLog& problems) {
    audit_profiles(survey, reduced, problems);
    audit_stops(survey, threads, problems);
}

}  // namespace subcrop::model
