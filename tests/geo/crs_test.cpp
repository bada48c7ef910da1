#include "subcrop/geo/crs.hpp"

#include <gmock/gmock.h>

#include "subcrop/core/error.hpp"

namespace subcrop::geo {
namespace {

using testing::HasSubstr;

TEST(Crs, KnowsItself) {
    const Crs utm("EPSG:32633");
    EXPECT_EQ(utm.name(), "WGS 84 / UTM zone 33N");
    EXPECT_EQ(utm.code(), "EPSG:32633");
    EXPECT_TRUE(utm.projected());
    EXPECT_FALSE(utm.geographic());
    EXPECT_DOUBLE_EQ(utm.metres_per_unit(), 1);
    EXPECT_THAT(utm.wkt(), HasSubstr("PROJCRS["));
    EXPECT_THAT(utm.wkt1(), HasSubstr("PROJCS["));
    const Crs degrees("EPSG:4326");
    EXPECT_TRUE(degrees.geographic());
    EXPECT_FALSE(degrees.projected());
    // NAD83 / Texas South Central (ftUS): the United States survey foot is 1200/3937 m.
    EXPECT_NEAR(Crs("EPSG:2278").metres_per_unit(), 1200.0 / 3937.0, 1e-15);
}

TEST(Crs, ReadsEveryNotation) {
    const Crs code("EPSG:25832");
    EXPECT_TRUE(Crs(code.wkt()).same_as(code));
    EXPECT_TRUE(Crs(code.wkt1()).same_as(code));
    EXPECT_EQ(Crs(code.wkt()).code(), "EPSG:25832");
    const Crs parameters("+proj=utm +zone=33 +datum=WGS84 +units=m +no_defs");
    EXPECT_TRUE(parameters.projected());
    EXPECT_EQ(parameters.code(), "");
    // With heights or with a shift tied on: the map position alone counts.
    EXPECT_TRUE(Crs("EPSG:25832+7837").same_as(code));
    EXPECT_TRUE(
        Crs("+proj=tmerc +lat_0=0 +lon_0=9 +k=1 +x_0=3500000 +y_0=0 +ellps=bessel +towgs84=598,73,418,0.2,0,-2.5,6.7")
            .projected());
}

TEST(Crs, SameButForAxisOrder) {
    EXPECT_TRUE(Crs("EPSG:4326").same_as(Crs("OGC:CRS84")));
    EXPECT_TRUE(Crs("EPSG:32661").same_as(Crs("EPSG:32661")));
    EXPECT_FALSE(Crs("EPSG:4326").same_as(Crs("EPSG:4258")));
    EXPECT_FALSE(Crs("EPSG:32632").same_as(Crs("EPSG:32633")));
}

TEST(Crs, SaysWhatIsWrong) {
    const auto message = [](const std::string& definition) {
        try {
            Crs crs(definition);
        } catch (const Error& error) {
            return std::string(error.what());
        }
        return std::string("no error");
    };
    EXPECT_THAT(message("EPSG:999999"),
                HasSubstr("'EPSG:999999' is not a coordinate reference system that PROJ knows"));
    EXPECT_THAT(message(""), HasSubstr("is not a coordinate reference system"));
    EXPECT_THAT(message("EPSG:5773"), HasSubstr("gives no position on the map"));  // EGM96 height
    EXPECT_THAT(message("EPSG:4978"), HasSubstr("gives no position on the map"));  // WGS 84 geocentric
    EXPECT_THAT(message("+proj=nonsense"), HasSubstr("Give a code such as EPSG:32633, the full name such as"));
}

TEST(Crs, TakesANameOnlyInFull) {
    EXPECT_EQ(Crs("WGS 84 / UTM zone 31N").code(), "EPSG:32631");
    EXPECT_EQ(Crs("wgs 84 / utm zone 31n").code(), "EPSG:32631");
    EXPECT_EQ(Crs("WGS84").code(), "EPSG:4326");
    EXPECT_EQ(Crs("ETRS89 / UTM zone 32N + DHHN2016 height").code(), "EPSG:25832");
    EXPECT_EQ(Crs("urn:ogc:def:crs:EPSG::25832").code(), "EPSG:25832");
    EXPECT_EQ(Crs("ESRI:54009").code(), "ESRI:54009");
    EXPECT_EQ(Crs("epsg:4326").code(), "EPSG:4326");
    // PROJ itself would take these for GCS_Sinope_2000, Nord Sahara 1959 / UTM zone 31N and WGS 72.
    for (const char* part : {"nope", "UTM31N", "WGS", "UTM zone 31N", "ETRS89 / UTM zone 32N + DHHN"}) {
        EXPECT_THROW(Crs{part}, Error) << part;
    }
}

struct ZoneCase {
    double longitude, latitude;
    const char* code;
};

TEST(UtmZone, OfAPlace) {
    const ZoneCase cases[] = {
        {13.4, 52.5, "EPSG:32633"},
        {-180, 10, "EPSG:32601"},
        {180, 10, "EPSG:32601"},
        {179.99, -10, "EPSG:32760"},
        {0, 0, "EPSG:32631"},
        {-0.1, -0.1, "EPSG:32730"},
        {373.4, 52.5, "EPSG:32633"},
        // The exceptions over Norway and Svalbard.
        {4, 60, "EPSG:32632"},
        {2.9, 60, "EPSG:32631"},
        {4, 55.9, "EPSG:32631"},
        {4, 64, "EPSG:32631"},
        {8.9, 78, "EPSG:32631"},
        {9, 78, "EPSG:32633"},
        {21, 78, "EPSG:32635"},
        {41.9, 78, "EPSG:32637"},
        {42, 78, "EPSG:32638"},
        // Polar stereographic beyond.
        {10, 84, "EPSG:5041"},
        {10, 83.9, "EPSG:32633"},
        {10, -80, "EPSG:32732"},
        {10, -80.1, "EPSG:5042"},
    };
    for (const ZoneCase& c : cases) {
        EXPECT_EQ(utm_zone_of(c.longitude, c.latitude).code(), c.code) << c.longitude << ' ' << c.latitude;
    }
    EXPECT_THROW(utm_zone_of(10, 91), Error);
}

}  // namespace
}  // namespace subcrop::geo
