// A real PostGIS database: a cluster of its own in a scratch folder, on a socket there, gone afterwards. Needs the
// packages postgresql and postgresql-15-postgis-3.
#pragma once

#include <pwd.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cstdlib>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>

#include "io/scratch_survey.hpp"

namespace subcrop::io {

/// The newest server that Debian has put under /usr/lib/postgresql.
inline std::filesystem::path server_programs() {
    std::filesystem::path newest;
    int number = 0;
    std::error_code failure;
    for (const auto& entry : std::filesystem::directory_iterator("/usr/lib/postgresql", failure)) {
        const int version = std::atoi(entry.path().filename().c_str());
        if (version > number && std::filesystem::exists(entry.path() / "bin/initdb")) {
            number = version;
            newest = entry.path() / "bin";
        }
    }
    return newest;
}

class Cluster {
public:
    Cluster() : programs_(server_programs()), data_(folder_.path() / "data"), socket_(folder_.path() / "socket") {
        std::filesystem::create_directory(socket_);
        // The server refuses to run as root.
        if (geteuid() == 0) {
            const passwd* user = getpwnam("postgres");
            if (user == nullptr || chown(folder_.path().c_str(), user->pw_uid, user->pw_gid) != 0 ||
                chown(socket_.c_str(), user->pw_uid, user->pw_gid) != 0) {
                return;
            }
            as_user_ = "runuser -u postgres -- ";
        }
        chmod(folder_.path().c_str(), 0755);
        // The socket's name holds the port; nothing listens on the network.
        started_ =
            run((programs_ / "initdb").string() + " -D " + data_.string() +
                " -U tester -A trust -E UTF8 --locale=C.UTF-8 --no-sync") &&
            run((programs_ / "pg_ctl").string() + " -D " + data_.string() + " -w -l " + (socket_ / "log").string() +
                " -o \"-c listen_addresses='' -c fsync=off -k " + socket_.string() + "\" start");
    }
    ~Cluster() {
        if (started_) run((programs_ / "pg_ctl").string() + " -D " + data_.string() + " -m immediate -w stop");
    }

    /// Unless it has, there are no such packages.
    bool started() const { return started_; }
    bool query(const std::string& sql) const { return run_query(sql, ""); }
    /// What a query prints: rows by line, columns parted by a bar.
    std::string answer(const std::string& sql) const {
        if (!run_query(sql, "-A -t ")) return "failed: " + output();
        std::string text = output();
        while (!text.empty() && text.back() == '\n') text.pop_back();
        return text;
    }
    std::string connection() const {
        return "PG:host=" + socket_.string() + " user=tester dbname=postgres password=secret";
    }
    const ScratchFolder& folder() const { return folder_; }

private:
    bool run_query(const std::string& sql, const std::string& options) const {
        folder_.write("query.sql", sql);
        return run((programs_ / "psql").string() + " -v ON_ERROR_STOP=1 -q " + options + "-h " + socket_.string() +
                   " -U tester -d postgres -f " + (folder_.path() / "query.sql").string());
    }
    std::string output() const {
        std::ifstream in(folder_.path() / "output.txt");
        return {std::istreambuf_iterator<char>(in), {}};
    }
    bool run(const std::string& command) const {
        const std::string line =
            "cd / && " + as_user_ + command + " > " + (folder_.path() / "output.txt").string() + " 2>&1";
        return std::system(line.c_str()) == 0;
    }

    ScratchFolder folder_;
    std::filesystem::path programs_, data_, socket_;
    std::string as_user_;
    bool started_ = false;
};

}  // namespace subcrop::io
