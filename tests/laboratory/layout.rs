//! The layout: written, read, guessed.
#[test]
fn zz_write() {
    for (folder, name) in [("ferry-generator-sets", "ferry"), ("snow-plough-returns", "plough")] {
        let b = super::bench::bench(folder, 1);
        let mut sources = b.sources.clone();
        let root = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join(format!("examples/{folder}/records"));
        let mut records = Vec::new();
        for run in &b.plan.runs {
            let bytes = std::fs::read(root.join(format!("{}.csv", run.code))).unwrap();
            records.extend(loopleaf::record::read::file(&format!("{}.csv", run.code), &bytes, &mut sources).value);
        }
        std::fs::write(
            format!("/tmp/lab-{name}.csv"),
            loopleaf::rehearsal::laboratory_csv(&b.plan, &records, 20261109),
        )
        .unwrap();
        let layout = b.plan.laboratories.values().next().unwrap().results.clone().unwrap();
        println!("{:?}", layout.columns.len());
    }
}
