import ca.uhn.fhir.batch2.jobs.config.Batch2JobsConfig;
import ca.uhn.fhir.context.FhirContext;
import ca.uhn.fhir.jpa.api.config.JpaStorageSettings;
import ca.uhn.fhir.jpa.api.config.ThreadPoolFactoryConfig;
import ca.uhn.fhir.jpa.api.dao.IFhirSystemDao;
import ca.uhn.fhir.jpa.batch2.JpaBatch2Config;
import ca.uhn.fhir.jpa.binary.api.IBinaryStorageSvc;
import ca.uhn.fhir.jpa.binstore.MemoryBinaryStorageSvcImpl;
import ca.uhn.fhir.jpa.config.HapiJpaConfig;
import ca.uhn.fhir.jpa.config.r4.JpaR4Config;
import ca.uhn.fhir.jpa.config.util.HapiEntityManagerFactoryUtil;
import ca.uhn.fhir.jpa.model.config.PartitionSettings;
import ca.uhn.fhir.jpa.model.config.SubscriptionSettings;
import ca.uhn.fhir.jpa.model.dialect.HapiFhirH2Dialect;
import ca.uhn.fhir.jpa.searchparam.submit.config.SearchParamSubmitterConfig;
import ca.uhn.fhir.jpa.subscription.channel.config.SubscriptionChannelConfig;
import ca.uhn.fhir.jpa.subscription.submit.config.SubscriptionSubmitterConfig;
import ca.uhn.fhir.jpa.provider.JpaSystemProvider;
import ca.uhn.fhir.parser.StrictErrorHandler;
import ca.uhn.fhir.rest.api.EncodingEnum;
import ca.uhn.fhir.rest.server.RestfulServer;
import ca.uhn.fhir.rest.server.provider.ResourceProviderFactory;
import jakarta.persistence.EntityManagerFactory;
import java.io.File;
import java.nio.file.Files;
import java.util.Properties;
import javax.sql.DataSource;
import org.apache.catalina.Context;
import org.apache.catalina.startup.Tomcat;
import org.apache.commons.dbcp2.BasicDataSource;
import org.springframework.beans.factory.config.ConfigurableListableBeanFactory;
import org.springframework.context.annotation.AnnotationConfigApplicationContext;
import org.springframework.context.annotation.Bean;
import org.springframework.context.annotation.Configuration;
import org.springframework.context.annotation.Import;
import org.springframework.context.annotation.Primary;
import org.springframework.orm.jpa.JpaTransactionManager;
import org.springframework.orm.jpa.LocalContainerEntityManagerFactoryBean;

/** A FHIR R4 server that stores what it takes, in memory, on loopback. Prints its port, and ends with its standard input. */
public class FhirServer {
    @Configuration
    @Import({
        JpaR4Config.class, HapiJpaConfig.class, JpaBatch2Config.class, Batch2JobsConfig.class,
        SubscriptionChannelConfig.class, SubscriptionSubmitterConfig.class, SearchParamSubmitterConfig.class, ThreadPoolFactoryConfig.class
    })
    public static class Store {
        @Bean
        public JpaStorageSettings storageSettings() {
            JpaStorageSettings settings = new JpaStorageSettings();
            settings.setSchedulingDisabled(true);
            settings.setReuseCachedSearchResultsForMillis(null);
            settings.setAutoCreatePlaceholderReferenceTargets(false);
            settings.setHibernateSearchIndexFullText(false);
            return settings;
        }

        @Bean
        public PartitionSettings partitionSettings() {
            return new PartitionSettings();
        }

        @Bean
        public SubscriptionSettings subscriptionSettings() {
            return new SubscriptionSettings();
        }

        @Bean
        public DataSource dataSource() {
            BasicDataSource source = new BasicDataSource();
            source.setDriver(new org.h2.Driver());
            source.setUrl("jdbc:h2:mem:store;DB_CLOSE_DELAY=-1");
            source.setMaxTotal(8);
            return source;
        }

        @Bean
        public LocalContainerEntityManagerFactoryBean entityManagerFactory(
                ConfigurableListableBeanFactory beans, FhirContext context, JpaStorageSettings settings) {
            LocalContainerEntityManagerFactoryBean made =
                    HapiEntityManagerFactoryUtil.newEntityManagerFactory(beans, context, settings);
            made.setPersistenceUnitName("store");
            made.setDataSource(dataSource());
            Properties properties = new Properties();
            properties.put("hibernate.hbm2ddl.auto", "create");
            properties.put("hibernate.dialect", HapiFhirH2Dialect.class.getName());
            properties.put("hibernate.search.enabled", "false");
            made.setJpaProperties(properties);
            return made;
        }

        @Bean
        @Primary
        public JpaTransactionManager transactionManager(EntityManagerFactory factory) {
            return new JpaTransactionManager(factory);
        }

        @Bean
        public IBinaryStorageSvc binaryStorage() {
            return new MemoryBinaryStorageSvcImpl();
        }
    }

    public static void main(String[] arguments) throws Exception {
        AnnotationConfigApplicationContext beans = new AnnotationConfigApplicationContext(Store.class);
        FhirContext context = beans.getBean(FhirContext.class);
        context.setParserErrorHandler(new StrictErrorHandler());
        RestfulServer server = new RestfulServer(context);
        server.registerProviders(beans.getBean(ResourceProviderFactory.class).createProviders());
        server.registerProvider(beans.getBean(JpaSystemProvider.class));
        server.setDefaultResponseEncoding(EncodingEnum.JSON);

        File folder = Files.createTempDirectory("fhir-server").toFile();
        folder.deleteOnExit();
        Tomcat tomcat = new Tomcat();
        tomcat.setBaseDir(folder.getPath());
        tomcat.setHostname("127.0.0.1");
        tomcat.setPort(0);
        tomcat.getConnector().setProperty("address", "127.0.0.1");
        Context web = tomcat.addContext("", folder.getPath());
        Tomcat.addServlet(web, "fhir", server);
        web.addServletMappingDecoded("/fhir/*", "fhir");
        tomcat.start();
        System.out.println("PORT " + tomcat.getConnector().getLocalPort());
        System.out.flush();
        while (System.in.read() >= 0) {}
        System.exit(0);
    }
}
