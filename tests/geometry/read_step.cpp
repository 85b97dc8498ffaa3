// Reads STEP files with an independent geometry library and says what it finds: validity, number of solids, volume,
// box, drilled holes by diameter. With figures wanted beside a file (NAME.expect), compares and fails.
//
//   read_step FILE.step...
//
// NAME.expect has lines of a word and numbers:
//   volume MM3
//   low X Y Z          least corner of the box, mm
//   high X Y Z         greatest corner of the box, mm
//   holes DIAMETER N   so many drilled tubes of the diameter: full turns of cylinders that face inwards
#include <BRepBndLib.hxx>
#include <BRepCheck_Analyzer.hxx>
#include <BRepGProp.hxx>
#include <BRep_Tool.hxx>
#include <Bnd_Box.hxx>
#include <GProp_GProps.hxx>
#include <Geom_CylindricalSurface.hxx>
#include <Geom_Surface.hxx>
#include <Interface_Static.hxx>
#include <Message.hxx>
#include <Message_Messenger.hxx>
#include <STEPControl_Reader.hxx>
#include <ShapeAnalysis_FreeBounds.hxx>
#include <TopExp.hxx>
#include <TopExp_Explorer.hxx>
#include <TopTools_IndexedMapOfShape.hxx>
#include <TopoDS.hxx>
#include <TopoDS_Face.hxx>
#include <BRepTools.hxx>
#include <BRep_Builder.hxx>
#include <cmath>
#include <cstdio>
#include <fstream>
#include <map>
#include <sstream>
#include <string>

namespace {

constexpr double VOLUME = 1e-6;   // relative
constexpr double LENGTH = 1e-5;   // mm, corners of the box
constexpr double TOLERANCE = 1e-5; // mm, the most that the reader may have widened an edge or corner by

struct Found {
    bool read = false, valid = false, closed = true;
    int solids = 0, shells = 0, faces = 0, edges = 0;
    double volume = 0, tolerance = 0, low[3], high[3];
    std::map<long, double> turns; // radius in nm: turns of inward cylinders, by angle / 2 pi
};

Found look(const char *path) {
    Found found;
    STEPControl_Reader reader;
    if (reader.ReadFile(path) != IFSelect_RetDone) return found;
    if (reader.TransferRoots() < 1) return found;
    found.read = true;
    TopoDS_Shape shape = reader.OneShape();
    found.valid = BRepCheck_Analyzer(shape, Standard_True).IsValid();
    for (TopExp_Explorer at(shape, TopAbs_SOLID); at.More(); at.Next()) found.solids++;
    for (TopExp_Explorer at(shape, TopAbs_SHELL); at.More(); at.Next()) {
        found.shells++;
        found.closed = found.closed && BRep_Tool::IsClosed(TopoDS::Shell(at.Current()));
    }
    TopTools_IndexedMapOfShape edges, corners;
    TopExp::MapShapes(shape, TopAbs_EDGE, edges);
    TopExp::MapShapes(shape, TopAbs_VERTEX, corners);
    found.edges = edges.Extent();
    for (int i = 1; i <= edges.Extent(); i++)
        found.tolerance = std::fmax(found.tolerance, BRep_Tool::Tolerance(TopoDS::Edge(edges(i))));
    for (int i = 1; i <= corners.Extent(); i++)
        found.tolerance = std::fmax(found.tolerance, BRep_Tool::Tolerance(TopoDS::Vertex(corners(i))));
    for (TopExp_Explorer at(shape, TopAbs_FACE); at.More(); at.Next()) {
        found.faces++;
        TopoDS_Face face = TopoDS::Face(at.Current());
        Handle(Geom_CylindricalSurface) tube =
            Handle(Geom_CylindricalSurface)::DownCast(BRep_Tool::Surface(face));
        if (tube.IsNull() || face.Orientation() != TopAbs_REVERSED) continue;
        double u0, u1, v0, v1;
        BRepTools::UVBounds(face, u0, u1, v0, v1);
        long key = std::lround(tube->Radius() * 1e6);
        // A tube is a whole turn; inner sides of bends are less.
        if (u1 - u0 > 2 * M_PI - 1e-6) found.turns[key] += 1;
    }
    GProp_GProps mass;
    BRepGProp::VolumeProperties(shape, mass, 1e-8);
    found.volume = mass.Mass();
    Bnd_Box box;
    BRepBndLib::AddOptimal(shape, box, Standard_False, Standard_False);
    box.Get(found.low[0], found.low[1], found.low[2], found.high[0], found.high[1], found.high[2]);
    return found;
}

bool agree(const std::string &path, const Found &found) {
    bool good = true;
    auto fail = [&](const std::string &what) {
        std::printf("  WRONG %s: %s\n", path.c_str(), what.c_str());
        good = false;
    };
    char text[200];
    if (!found.read) fail("can't be read");
    if (!found.valid) fail("not valid");
    if (found.solids != 1) fail(std::to_string(found.solids) + " solids");
    if (found.shells != 1 || !found.closed) fail("shell is not one and closed");
    if (found.tolerance > TOLERANCE) {
        std::snprintf(text, sizeof text, "widened by %.1e mm", found.tolerance);
        fail(text);
    }
    std::string beside = path.substr(0, path.rfind('.')) + ".expect";
    std::ifstream file(beside);
    if (!file) {
        fail("no figures wanted beside it");
        return false;
    }
    std::map<long, double> holes = found.turns;
    bool asked = false;
    std::string line;
    while (std::getline(file, line)) {
        std::istringstream words(line);
        std::string word;
        words >> word;
        if (word == "volume") {
            double want = 0;
            words >> want;
            asked = true;
            if (!(std::fabs(found.volume / want - 1) < VOLUME)) {
                std::snprintf(text, sizeof text, "volume %.6f, wanted %.6f (%.1e)", found.volume, want,
                              found.volume / want - 1);
                fail(text);
            }
        } else if (word == "low" || word == "high") {
            const double *have = word == "low" ? found.low : found.high;
            for (int i = 0; i < 3; i++) {
                double want = 0;
                words >> want;
                if (!(std::fabs(have[i] - want) < LENGTH)) {
                    std::snprintf(text, sizeof text, "%s %d is %.7f, wanted %.7f", word.c_str(), i, have[i], want);
                    fail(text);
                }
            }
        } else if (word == "holes") {
            double diameter = 0;
            int count = 0;
            words >> diameter >> count;
            long key = std::lround(diameter / 2 * 1e6);
            if (holes[key] != count) {
                std::snprintf(text, sizeof text, "%g holes of %g mm, wanted %d", holes[key], diameter, count);
                fail(text);
            }
            holes.erase(key);
        } else if (!word.empty()) {
            fail("unknown word " + word);
        }
    }
    for (const auto &[key, count] : holes) {
        std::snprintf(text, sizeof text, "%g holes of %g mm, none wanted", count, key * 2e-6);
        fail(text);
    }
    if (!asked) fail("no volume wanted beside it");
    return good;
}

} // namespace

int main(int count, char **paths) {
    Message::DefaultMessenger()->ChangePrinters().Clear();
    bool good = count > 1;
    for (int i = 1; i < count; i++) {
        Found found = look(paths[i]);
        std::printf("%s: %s, %d solid, %d faces, %d edges, %.6f mm3, tolerance %.1e\n", paths[i],
                    found.valid ? "valid" : "NOT VALID", found.solids, found.faces, found.edges, found.volume,
                    found.tolerance);
        good = agree(paths[i], found) && good;
    }
    return good ? 0 : 1;
}
